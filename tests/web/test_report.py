"""Writing down what somebody reports: by kind, each food confirmed, protecting from that moment."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import Run
from roster.kinds.kind import restriction_kinds
from roster.models import Child, Restriction, User
from tests.cast import Cast
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def page(user: User, child: Child, kind: str = "") -> HttpResponse:
    return as_user(user).get(reverse("child-report", args=[child.pk]), {"kind": kind} if kind else {})


def sent(user: User, child: Child, kind: str, **typed: Any) -> HttpResponse:
    address = f"{reverse('child-report', args=[child.pk])}?kind={kind}"
    return as_user(user).post(address, {"note": "", "named": "", **typed}, follow=True)


def avoided(child: Child) -> set[str]:
    return {each.substance for each in Restriction.objects.known(timezone.now()).filter(child=child)}


def test_every_kind_is_offered_and_opens(cast: Cast) -> None:
    """With its usual substances ticked, and what to ask."""
    rosa = as_user(cast.rosa)
    address = reverse("child-report", args=[cast.bao.pk])
    offered = [link["href"] for link in soup(rosa.get(address)).select(".kinds a")]
    assert sorted(offered) == sorted(f"?kind={code}" for code in restriction_kinds())
    for kind in restriction_kinds().values():
        shown = soup(rosa.get(address, {"kind": kind.code}))
        ticked = [box["value"] for box in shown.select("input[name=substances][checked]")]
        assert ticked == list(kind.substances), kind.code
        assert " ".join(kind.ask.split()) in " ".join(shown.get_text(" ").split())


def test_a_teachers_report_protects_at_once(cast: Cast) -> None:
    """From the very next check; the teacher needs no licence, and is told who sees it."""
    answer = sent(cast.rosa, cast.bao, "peanut-allergy", substances=["peanut"], note="Mother: hives at the weekend.")
    assert "Recorded: peanut. It protects from now" in words(answer)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert "Bao E. (peanut)" in words(as_user(cast.rosa).get(reverse("today")))


def test_a_teacher_does_not_read_the_words_of_another_report(cast: Cast) -> None:
    """Neither the note nor the record opens to who wrote it."""
    sent(cast.rosa, cast.bao, "milk-allergy", substances=["milk"], note="Vomits within the hour.")
    for name in ("today", "children"):
        assert "Vomits" not in as_user(cast.rosa).get(reverse(name)).content.decode()
    assert as_user(cast.rosa).get(reverse("child", args=[cast.bao.pk])).status_code == 404


def test_what_is_ticked_off_is_not_recorded(cast: Cast) -> None:
    """The kind proposes, a person confirms."""
    sent(cast.rosa, cast.bao, "jain", substances=["egg", "honey"], strictness="ingredient")
    assert avoided(cast.bao) == {"egg", "honey"}


def test_a_misspelt_food_is_refused_with_the_nearest(cast: Cast) -> None:
    """S75. Basis: design. Nothing is saved, and what was typed is still there."""
    answer = sent(cast.rosa, cast.bao, "other-food-allergy", named="kiwi\nsesamee", note="Father called.")
    assert "sesame" in words(answer) and "Nothing was saved" in words(answer)
    assert "sesamee" in soup(answer).find(id="id_named").get_text()
    assert "Father called." in soup(answer).find(id="id_note").get_text()
    assert not avoided(cast.bao)


def test_texture_is_given_by_number_and_stands_on_the_list_of_the_class(cast: Cast) -> None:
    """IDDSI framework: food 3 to 7, drink 0 to 4. The list tells that no check looks after it, and no condition."""
    form = soup(page(cast.hakim, cast.bao, "dysphagia"))
    levels = {
        name: [each["value"] for each in form.select(f"#id_{name} option")] for name in ("food_level", "drink_level")
    }
    assert levels == {"food_level": ["", "3", "4", "5", "6", "7"], "drink_level": ["", "0", "1", "2", "3", "4"]}
    sent(cast.hakim, cast.bao, "dysphagia", food_level="5", drink_level="2")
    shown = words(as_user(cast.rosa).get(reverse("today")))
    assert "Food: level 5. Drink: level 2." in shown and "No check looks after this" in shown
    assert "dysphagia" not in shown.lower()


def test_an_answer_about_a_food_names_what_it_does_not_cover(cast: Cast) -> None:
    """A child on a set texture never stands in “none found” without a word: at a treat, and at a serving."""
    sent(cast.hakim, cast.bao, "dysphagia", food_level="5")
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    pages = [
        as_user(cast.rosa).get(reverse("treat-result", args=[check.pk])),
        as_user(cast.greta).get(reverse("serving", args=[cast.servings[0].pk])),
    ]
    for page_of in pages:
        assert "No check looks after this" in words(page_of)
        assert "Bao Example : Food: level 5." in words(page_of)


def test_no_answer_speaks_of_it_where_there_is_nothing(cast: Cast) -> None:
    """Or nobody would read it."""
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    assert "No check looks after" not in words(as_user(cast.rosa).get(reverse("treat-result", args=[check.pk])))


def test_nuts_are_tree_nuts_and_peanut_until_somebody_says_which(cast: Cast) -> None:
    """S74. Basis: design. Both at once, as reported, for licensed staff to confirm."""
    sent(cast.rosa, cast.bao, "other-food-allergy", named="Nuts\nkiwi", note="Father: no nuts.")
    assert avoided(cast.bao) == {"peanut", "tree-nut", "kiwi"}
    assert {each.basis for each in cast.bao.restrictions.all()} == {"reported"}
    assert "Father: no nuts." in words(as_user(cast.hakim).get(reverse("child", args=[cast.bao.pk])))


def test_a_report_of_nothing_is_refused(cast: Cast) -> None:
    """An empty form would look like protection."""
    for kind in ("dysphagia", "other-food-allergy"):
        assert "Name at least one food or substance" in words(sent(cast.hakim, cast.bao, kind))
    assert not avoided(cast.bao)


def test_what_is_looked_after_in_part_proposes_the_rest(cast: Cast) -> None:
    """What comes from elsewhere is not looked for: the page says so, and the class is told unless it is taken off."""
    form = soup(page(cast.rosa, cast.bao, "kosher"))
    said = " ".join(form.get_text(" ").split())
    assert "What may not meet is searched for in one dish, and in the dishes of one meal on the menu." in said
    proposed = form.find(id="id_told").get_text().strip()
    assert proposed == "No meat together with milk in one meal."
    sent(cast.rosa, cast.bao, "kosher", substances=["pork"], strictness="ingredient", told=proposed)
    assert proposed in words(as_user(cast.rosa).get(reverse("today")))


def test_set_days_are_asked_for(cast: Cast) -> None:
    """Lent on set days: not chosen, not recorded."""
    typed = {"substances": ["animal-flesh"], "strictness": "ingredient"}
    assert "Ask on which days the family keeps it" in words(sent(cast.rosa, cast.bao, "lent", **typed))
    sent(cast.rosa, cast.bao, "lent", days="lent-fridays", **typed)
    assert [each.days for each in cast.bao.restrictions.all()] == ["lent-fridays"]


def test_related_foods_are_advice_to_licensed_staff_alone(cast: Cast) -> None:
    """J Food Allergy 2020;2(1):17-21, table 2: shown with rate and source, none ticked, none added by itself."""
    shown = soup(page(cast.hakim, cast.bao, "peanut-allergy"))
    assert "4 to 29 %" in shown.get_text() and "J Food Allergy 2020" in shown.get_text()
    assert shown.select("input[name=related]") and not shown.select("input[name=related][checked]")
    assert not soup(page(cast.rosa, cast.bao, "peanut-allergy")).select("input[name=related]")
    sent(cast.hakim, cast.bao, "peanut-allergy", substances=["peanut"])
    assert avoided(cast.bao) == {"peanut"}
    sent(cast.hakim, cast.bao, "peanut-allergy", substances=["peanut"], related=["lupin"], note="Dr. Example's letter.")
    assert avoided(cast.bao) == {"peanut", "lupin"}
    lupin = cast.bao.restrictions.get(substance="lupin")
    assert (lupin.basis, lupin.strictness, lupin.recorded_by) == ("reported", "trace", cast.hakim)
    assert lupin.note == "Related food, chosen by licensed staff. Dr. Example's letter."


def test_a_related_food_can_be_all_that_is_chosen(cast: Cast) -> None:
    """And a teacher who sends one all the same adds nothing by it."""
    sent(cast.hakim, cast.bao, "peanut-allergy", related=["lupin"], note="x" * 200)
    assert avoided(cast.bao) == {"lupin"}
    sent(cast.rosa, cast.kofi, "peanut-allergy", substances=["peanut"], related=["lupin"])
    assert "lupin" not in avoided(cast.kofi)


def test_a_medical_report_offers_no_milder_reach_than_its_kind(cast: Cast) -> None:
    """Milk allergy reaches to traces whatever is sent; lactose may be made stricter."""
    sent(cast.rosa, cast.bao, "milk-allergy", substances=["milk"], strictness="ingredient")
    assert cast.bao.restrictions.get().strictness == "trace"
    assert soup(page(cast.rosa, cast.bao, "lactose-intolerance")).select("input[name=strictness]")


def test_a_kind_that_does_not_exist_is_not_found(cast: Cast) -> None:
    """Nor a child of another class."""
    assert page(cast.rosa, cast.bao, "nothing").status_code == 404
    assert page(cast.rosa, cast.ravi).status_code == 404
