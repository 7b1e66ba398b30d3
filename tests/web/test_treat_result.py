"""Check a treat: the answer, and the answers kept."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.treat import check_treat
from compliance.models import TreatCheck
from compliance.web.treat_history import PER_PAGE
from menus.labels.evidence import Kind
from menus.models import Site
from menus.services.treats import record_treat
from tests.cast import Cast
from tests.factories import AllowanceFactory, labelled
from tests.web.pages import as_user, soup, words
from tests.web.test_today import grow

CUPCAKES = "Ingredients: sugar, wheat flour, eggs, whey powder. May contain cashews."


@pytest.fixture
def check(cast: Cast) -> TreatCheck:
    """Rosa's cupcakes."""
    return made(cast, CUPCAKES)


def made(cast: Cast, text: str, **asked: Any) -> TreatCheck:
    """Return a check of that label for Larks, now."""
    label = record_treat(
        name="Cupcakes",
        text=text,
        gtin=None,
        home_made=False,
        site=cast.ferrowick,
        seen_on=timezone.localdate(),
        seen_by=cast.rosa,
    )
    return check_treat(
        user=cast.rosa,
        classroom=cast.larks,
        source=TreatCheck.Source.PASTED,
        food="Cupcakes",
        label=label,
        **{"served_at": timezone.now()} | asked,
    )


def said(cast: Cast, check: TreatCheck) -> str:
    return words(as_user(cast.rosa).get(f"/treat/{check.pk}/"))


def test_children_stand_under_their_outcome_with_the_words_that_caused_it(cast: Cast, check: TreatCheck) -> None:
    """Gravest first; what to do next stands beside it."""
    page = soup(as_user(cast.rosa).get(f"/treat/{check.pk}/"))
    withheld = page.select_one(".block-withhold")
    text = " ".join(withheld.get_text(" ").split())
    assert [who.text for who in withheld.select(".who")] == ["Anneke E.", "Ifeoma E.", "Kofi E.", "Noor E."]
    assert "Do not serve it to them. Offer something else" in text
    assert "milk : present as an ingredient “whey powder”" in text
    assert "cashew : precautionary statement “cashews”" in text


def test_the_words_are_marked_in_place(cast: Cast, check: TreatCheck) -> None:
    """The label reads as it was typed, with the words that caused something marked."""
    label = soup(as_user(cast.rosa).get(f"/treat/{check.pk}/")).select_one(".label-text")
    assert CUPCAKES in label.text
    assert [mark.text for mark in label.select(".mark-withhold")] == ["wheat flour", "eggs", "whey powder", "cashews"]


def test_children_for_whom_nothing_was_found_are_counted_never_named(cast: Cast, check: TreatCheck) -> None:
    """And the words do not go beyond what was checked."""
    text = said(cast, check)
    assert "Bao" not in text and "Mateo" not in text
    assert "none found for 4 children No conflict found in the records checked." in text
    assert "all 8 children of the class" in text


def test_a_word_nobody_knows_is_referred_with_what_to_do(cast: Cast) -> None:
    """Until somebody answers it is not served."""
    text = said(cast, made(cast, "sugar, zanthopyl"))
    assert "Until they answer, do not serve it." in text
    assert "peanut : a word that was not understood “zanthopyl”" in text


def test_a_child_at_two_outcomes_is_listed_once_at_the_gravest(cast: Cast) -> None:
    """Kofi avoids egg, which is there, and sesame, which an unknown word may be."""
    page = soup(as_user(cast.rosa).get(f"/treat/{made(cast, 'eggs, zanthopyl').pk}/"))
    assert [who.text for who in page.select(".block-withhold .who")] == ["Kofi E."]
    assert "Kofi E." not in [who.text for who in page.select(".block-refer .who")]
    assert "sesame : a word that was not understood" in " ".join(
        page.select_one(".block-withhold").get_text(" ").split()
    )


def test_what_licensed_staff_allowed_is_told_but_does_not_count(cast: Cast) -> None:
    """Mateo may have refined peanut oil; he is a note under none found."""
    AllowanceFactory(restriction=cast.mateo.restrictions.get(), kind=Kind.REFINED_OIL.value)
    text = said(cast, made(cast, "sugar, highly refined peanut oil"))
    assert "To know all the same Mateo E." in text
    assert "Allowed for this child by licensed staff." in text


def test_what_the_whole_class_could_have_is_offered(cast: Cast, check: TreatCheck) -> None:
    """Only foods that are handed out as they come, with none found for everybody."""
    labelled("apples", name="Apple slices", ready_to_eat=True)
    labelled("apples, milk", name="Apple cream", ready_to_eat=True)
    labelled("apples", name="Whole apples for cooking")
    page = soup(as_user(cast.rosa).get(f"/treat/{made(cast, CUPCAKES).pk}/"))
    assert [button.text for button in page.select(".offers button")] == ["Apple slices"]


def test_with_nobody_stopped_the_next_step_is_the_package(cast: Cast) -> None:
    """Nothing else is offered in its place then, and “none found” is followed by what to do before serving."""
    labelled("apples", name="Apple slices", ready_to_eat=True)
    check = made(cast, "sugar")
    page = soup(as_user(cast.rosa).get(f"/treat/{check.pk}/"))
    assert not page.select(".offers")
    assert "compare the label below with the package in your hand" in said(cast, check)
    assert "Before anything is handed out" not in said(cast, made(cast, CUPCAKES))


def test_an_answer_stays_as_it_was_given(cast: Cast, check: TreatCheck) -> None:
    """What becomes known later changes no earlier answer; the page says above it that it is out of date."""
    before = said(cast, check)
    made(cast, "sugar")
    grow(cast.larks, 1)
    after = said(cast, check)
    assert after.partition("For Larks")[2] == before.partition("For Larks")[2]
    assert "out of date: the class list, a restriction changed" in after.partition("For Larks")[0]


def test_it_carries_its_cautions_and_the_time_it_speaks_of(cast: Cast, check: TreatCheck) -> None:
    """Read the package again; none found is no promise; a reaction; who decides. The time is the site's."""
    Site.objects.filter(pk=cast.ferrowick.pk).update(time_zone="America/Chicago")
    page = as_user(cast.rosa).get(f"/treat/{check.pk}/")
    text = words(page)
    for sentence in ("Read the package again", "It is no promise", "call emergency services", "it decides nothing"):
        assert sentence in text
    assert soup(page).select_one(".as-of time")["datetime"][-6:] in ("-06:00", "-05:00")


def test_another_class_s_answer_is_not_found(cast: Cast, check: TreatCheck) -> None:
    """Nor is it in another teacher's list; the nurse sees it."""
    assert as_user(cast.dmitri).get(f"/treat/{check.pk}/").status_code == 404
    assert "Cupcakes" not in words(as_user(cast.dmitri).get("/treat/history/"))
    assert as_user(cast.hakim).get(f"/treat/{check.pk}/").status_code == 200
    assert "Cupcakes" in words(as_user(cast.hakim).get("/treat/history/"))


def test_a_substitute_sees_the_answers_of_the_own_day_only(cast: Cast, check: TreatCheck) -> None:
    """Who was in the class last week is not for whoever stands in today."""
    old = made(cast, CUPCAKES, served_at=timezone.now() - timedelta(days=7))
    sefa = as_user(cast.sefa)
    assert [sefa.get(f"/treat/{each.pk}/").status_code for each in (check, old)] == [200, 404]
    assert [as_user(cast.rosa).get(f"/treat/{each.pk}/").status_code for each in (check, old)] == [200, 200]
    assert len(soup(sefa.get("/treat/history/")).select("main a[href^='/treat/']")) == 1


def test_the_list_gives_counts_and_pages(cast: Cast, check: TreatCheck) -> None:
    """The newest first, so many a page."""
    rows = soup(as_user(cast.rosa).get("/treat/history/")).select(".rows > li")
    assert " ".join(rows[0].get_text(" ").split()).startswith("Cupcakes withhold 4 none found 4 Larks")
    for _ in range(PER_PAGE):
        made(cast, "sugar")
    client = as_user(cast.rosa)
    assert len(soup(client.get("/treat/history/")).select(".rows > li")) == PER_PAGE
    assert len(soup(client.get("/treat/history/?page=2")).select(".rows > li")) == 1


# session, user; posts for all sites; the check with class, label and people; the children's names; its photos; what
# people see to; what it rests on now
RESULT_QUERIES = 9


@pytest.mark.parametrize("more", [1, 25])
def test_the_queries_of_an_answer_do_not_grow_with_the_class(cast: Cast, more: int, django_assert_num_queries) -> None:
    """The same number for a class of nine and of thirty-three, all of whom have a restriction."""
    grow(cast.larks, more)
    check = made(cast, CUPCAKES)
    client = as_user(cast.rosa)
    with django_assert_num_queries(RESULT_QUERIES):
        client.get(f"/treat/{check.pk}/")


def test_the_queries_of_asking_do_not_grow_with_the_class(cast: Cast, django_assert_num_queries) -> None:
    """A pasted label for a class of nine and for one of thirty-three: the same number."""
    client = as_user(cast.rosa)
    for more in (1, 24):
        grow(cast.larks, more)
        # session, user; posts for all sites, classes; savepoint;
        # keeping the label: savepoint, product, label, release;
        # checking: posts, labels and newest words, words accepted, children, restrictions, allowances, the class table
        #   today, what could be offered, the check; the record: end of the chain, entry, end; release
        with django_assert_num_queries(ASKING_QUERIES):
            client.post("/treat/", {"when": "now", "text": CUPCAKES})


ASKING_QUERIES = 23


def test_the_queries_of_the_list_do_not_grow_with_it(cast: Cast, django_assert_num_queries) -> None:
    """One check or a page of them."""
    client = as_user(cast.rosa)
    for count in (1, PER_PAGE - 1):
        for _ in range(count):
            made(cast, CUPCAKES)
        # session, user; posts for all sites; how many; the checks; as of: posts for all sites, first site
        with django_assert_num_queries(8):
            client.get("/treat/history/")
