"""Questions that wait for licensed staff, and their signed answers."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Referral
from menus.labels.evidence import Kind
from menus.models import Meal
from roster.models import Allowance
from tests.cast import Cast
from tests.factories import (
    PASSWORD,
    ChildFactory,
    EnrolmentFactory,
    RestrictionFactory,
    ServingFactory,
    cooked,
    labelled,
)
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

DRESSING = "water, vinegar, soybean oil, salt"


def referred(cast: Cast, *names: str) -> list[Referral]:
    """Children who must avoid soy meet a dressing with highly refined soybean oil at tomorrow's lunch."""
    for name in names:
        child = ChildFactory(given_name=name)
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child, substance="soy")
    salad = cooked("Green salad", labelled(DRESSING, name="Dressing"))
    ServingFactory(site=cast.ferrowick, recipe=salad, date=tomorrow())
    check_site(site=cast.ferrowick, trigger="hand")
    return list(Referral.objects.waiting().order_by("child__given_name"))


def tomorrow() -> date:
    return timezone.localdate() + timedelta(days=1)


def answer(cast: Cast, about: Referral, **typed: object) -> HttpResponse:
    """Hakim fills in the answer and signs it."""
    filled = {
        "referrals": [about.pk],
        "answer": "allow",
        "note": "Specialist letter on file.",
        "ends_on": (tomorrow() + timedelta(days=90)).isoformat(),
        "signature": "H. Example, RN",
        "password": PASSWORD,
        **typed,
    }
    return as_user(cast.hakim).post(reverse("referral", args=[about.pk]), filled, follow=True)


def test_questions_are_grouped_by_what_they_are_about(cast: Cast) -> None:
    """One oil, two children: one question, with both named and the day it is needed."""
    referred(cast, "Dara", "Elio")
    page = soup(as_user(cast.hakim).get(reverse("referrals")))
    (question,) = page.select(".block-refer")
    shown = " ".join(question.get_text(" ").split())
    assert "Dara Example" in shown
    assert "Elio Example" in shown
    assert f"First needed on {tomorrow().isoformat()}" in shown
    assert "“soybean oil”" in shown


def test_a_child_with_two_restrictions_is_named_once(cast: Cast) -> None:
    """Kofi avoids egg and sesame; about a word that nobody knows he stands once, with both."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Cake", labelled("sugar, zanthopyl", name="Cake mix")))
    check_site(site=cast.ferrowick, trigger="hand")
    page = soup(as_user(cast.hakim).get(reverse("referrals")))
    lines = [" ".join(line.get_text(" ").split()) for line in page.select(".block-refer li")]
    assert "Kofi Example : egg, sesame" in lines
    assert len([line for line in lines if line.startswith("Kofi")]) == 1


def test_the_most_pressing_comes_first(cast: Cast) -> None:
    """By the day on which the food is to be served."""
    referred(cast, "Dara")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Stew", labelled("", name="Stock", label={"claims": "rich"})))
    check_site(site=cast.ferrowick, trigger="hand")
    heads = [head.get_text().strip() for head in soup(as_user(cast.hakim).get(reverse("referrals"))).select("h2 a")]
    assert heads == ["Stock", "Dressing"]


def test_a_question_shows_the_words_in_place_and_what_happens_meanwhile(cast: Cast) -> None:
    """Nobody has to look the label up, and nobody is left in doubt whether the food goes out."""
    (about,) = referred(cast, "Dara")
    page = as_user(cast.hakim).get(reverse("referral", args=[about.pk]))
    assert [mark.get_text() for mark in soup(page).select(".label-text mark")] == ["soybean oil"]
    assert "Meanwhile the food is not served to this child" in words(page)


def test_words_that_only_may_concern_the_child_are_marked_too(cast: Cast) -> None:
    """“Gelatin” raises a question for a child who must avoid pork, though the label names no pork."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Jelly", labelled("water, sugar, gelatin", name="Jelly")))
    check_site(site=cast.ferrowick, trigger="hand")
    about = Referral.objects.waiting().get(child=cast.yusuf)
    page = soup(as_user(cast.hakim).get(reverse("referral", args=[about.pk])))
    assert [mark.get_text() for mark in page.select(".label-text mark")] == ["gelatin"]


def test_an_allowance_is_signed_narrow_and_dated(cast: Cast) -> None:
    """It covers this oil for this child, and it lifts the referral from the next check."""
    dara, elio = referred(cast, "Dara", "Elio")
    page = answer(cast, dara)
    assert "Signed and kept, for 1 child" in words(page)
    allowed = Allowance.objects.get()
    assert (allowed.child, allowed.kind, allowed.label) == (dara.child, Kind.REFINED_OIL, None)
    assert (allowed.signed_by, allowed.signature) == (cast.hakim, "H. Example, RN")
    check_site(site=cast.ferrowick, trigger="hand")
    assert [each.child for each in Referral.objects.waiting()] == [elio.child]


def test_one_signature_may_answer_for_several_ticked_children(cast: Cast) -> None:
    """The same question need not be signed eight times; nobody is ticked beforehand but the child asked about."""
    dara, elio = referred(cast, "Dara", "Elio")
    page = soup(as_user(cast.hakim).get(reverse("referral", args=[dara.pk])))
    ticked = [box["value"] for box in page.select("input[name=referrals][checked]")]
    assert ticked == [str(dara.pk)]
    answer(cast, dara, referrals=[dara.pk, elio.pk])
    assert not Referral.objects.waiting().exists()
    assert Allowance.objects.count() == 2


def test_keeping_withheld_allows_nothing(cast: Cast) -> None:
    """The answer is kept, and no allowance comes of it."""
    (about,) = referred(cast, "Dara")
    answer(cast, about, answer="keep")
    about.refresh_from_db()
    assert about.answer == Referral.Answer.KEEP
    assert not Allowance.objects.exists()


def test_an_answer_stays_readable(cast: Cast) -> None:
    """Who signed what, until when; and no second answer can be given."""
    (about,) = referred(cast, "Dara")
    answer(cast, about)
    page = as_user(cast.hakim).get(reverse("referral", args=[about.pk]))
    assert "Answered: allow within the scope" in words(page)
    assert "H. Example, RN" in words(page)
    assert not soup(page).select("form input[name=signature]")
    assert "Signed H. Example, RN" in words(as_user(cast.hakim).get(reverse("referrals")))


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"signature": " "}, "This is signed"),
        ({"answer": ""}, "Choose an answer"),
        ({"answer": "perhaps"}, "Select a valid choice"),
        ({"referrals": []}, "Tick at least one child"),
        ({"password": ""}, "A signature needs your password"),
        ({"password": "guessed"}, "This is not your password"),
        ({"ends_on": ""}, "Give the last day on which the answer holds"),
        ({"ends_on": "2001-01-01"}, "The answer would have ended already"),
    ],
)
def test_half_an_answer_is_refused_and_kept_in_the_form(cast: Cast, typed: dict[str, object], told: str) -> None:
    """What is wrong, how to mend it, and the note not lost."""
    (about,) = referred(cast, "Dara")
    page = answer(cast, about, **typed)
    assert told in words(page)
    assert "Specialist letter on file." in soup(page).find(id="id_note").get_text()
    assert Referral.objects.waiting().count() == 1
    assert not Allowance.objects.exists()


def test_without_a_label_nothing_can_be_allowed(cast: Cast) -> None:
    """There would be nothing to allow it against."""
    nothing = labelled("", name="Stock", label={"claims": "rich"})
    nothing_known = cooked("Stew", nothing)
    ServingFactory(site=cast.ferrowick, recipe=nothing_known, meal=Meal.SNACK)
    cast.larder.rice.labels.all()._raw_delete("default")
    check_site(site=cast.ferrowick, trigger="hand")
    about = Referral.objects.waiting().filter(label=None).first()
    assert about is not None
    address = reverse("referral", args=[about.pk])
    page = as_user(cast.hakim).get(address)
    assert "Nothing can be allowed while no label is on record" in words(page)
    assert [radio["value"] for radio in soup(page).select("input[name=answer]")] == ["keep"]
    assert "there is nothing to allow it against" in words(answer(cast, about))
    assert not Allowance.objects.exists()


def test_only_licensed_staff_of_the_site_see_questions(cast: Cast) -> None:
    """They name children and their restrictions."""
    (about,) = referred(cast, "Dara")
    for person in (cast.greta, cast.june, cast.rosa, cast.wren):
        for address in (reverse("referrals"), reverse("referral", args=[about.pk])):
            assert as_user(person).get(address).status_code == 404


def test_an_answer_cannot_reach_beyond_the_question(cast: Cast) -> None:
    """A referral about another subject cannot be slipped into the same signature."""
    (about,) = referred(cast, "Dara")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Stew", labelled("", name="Stock", label={"claims": "rich"})))
    check_site(site=cast.ferrowick, trigger="hand")
    other = Referral.objects.waiting().exclude(subject=about.subject).first()
    assert other is not None
    page = answer(cast, about, referrals=[about.pk, other.pk])
    assert "Select a valid choice" in words(page)
    assert not Allowance.objects.exists()


def test_queries_do_not_grow_with_questions(cast: Cast) -> None:
    """One child or twenty, the list and the question cost the same."""
    hakim = as_user(cast.hakim)
    (about,) = referred(cast, "Dara")
    pages = [reverse("referrals"), reverse("referral", args=[about.pk])]
    small = [queries(lambda page=page: hakim.get(page)) for page in pages]
    referred(cast, *(f"Child{n}" for n in range(19)))
    # session, user, all-sites post?, sites; waiting with child, site and label, who was
    # told of them; answered; forms from guardians: posts, clocks, how many; roles for the menu
    # session, user, all-sites post?, sites; the question, those to tick with it, whether there are several; the words
    # accepted; the plan: enrolments, dishes with verdicts, runs, restrictions, evidence; roles for the menu
    assert [queries(lambda page=page: hakim.get(page)) for page in pages] == small == [11, 14]


def flavoured(cast: Cast, *children: tuple[str, str], days: int = 3) -> None:
    """Children who must avoid something meet natural flavour on each of the coming days, by another product each."""
    for name, substance in children:
        child = ChildFactory(given_name=name)
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child, substance=substance)
    for day in range(days):
        cereal = labelled("corn, Natural Flavors, salt", name=f"Cereal {day}")
        ServingFactory(site=cast.ferrowick, recipe=cooked(f"Bowl {day}", cereal), date=tomorrow() + timedelta(days=day))
    check_site(site=cast.ferrowick, trigger="hand")


def test_a_word_is_one_question_that_says_how_far_the_answer_reaches(cast: Cast) -> None:
    """The word, what it may hide, where it stands on the plan, and that one answer is for all such foods."""
    flavoured(cast, ("Dara", "mustard"))
    about = Referral.objects.waiting().get(child__given_name="Dara")
    listed = words(as_user(cast.hakim).get(reverse("referrals")))
    assert "“natural flavor” and mustard, on any label" in listed
    assert "It may hold mustard" in listed
    page = as_user(cast.hakim).get(reverse("referral", args=[about.pk]))
    shown = words(page)
    assert "have foods whose labels say “natural flavor”?" in shown
    assert "it stands in 3 dishes for Dara Example, by 3 foods: Cereal 0; Cereal 1; Cereal 2" in shown
    assert "“Allow” covers every food whose label says “natural flavor”" in shown
    assert "no such food is served to this child" in shown
    assert [mark.get_text() for mark in soup(page).select(".label-text mark")] == ["Natural Flavors"]


def test_children_who_avoid_different_things_are_asked_about_apart(cast: Cast) -> None:
    """Mustard and celery are two questions about one word, each with its own signature."""
    flavoured(cast, ("Dara", "mustard"), ("Elio", "mustard"), ("Finn", "celery"))
    page = soup(as_user(cast.hakim).get(reverse("referrals")))
    asked = [block.get_text() for block in page.select(".block-refer")]
    (mustard,) = [block for block in asked if "It may hold mustard" in block]
    (celery,) = [block for block in asked if "It may hold celery" in block]
    assert "Dara" in mustard and "Elio" in mustard and "Finn" not in mustard
    assert "Finn" in celery and "Dara" not in celery


def test_nobody_signs_for_a_child_what_the_page_does_not_name(cast: Cast) -> None:
    """Dara was asked about for barley, Elio for wheat too: the page of the one cannot answer for the other."""
    flavoured(cast, ("Dara", "gluten"), ("Elio", "gluten"))
    dara, elio = (Referral.objects.waiting().get(child__given_name=name) for name in ("Dara", "Elio"))
    Referral.objects.filter(pk=elio.pk).update(about=["barley", "wheat"])
    assert dara.about == ["barley"]
    page = answer(cast, dara, referrals=[dara.pk, elio.pk])
    assert "Select a valid choice" in words(page)
    assert not Allowance.objects.exists()
