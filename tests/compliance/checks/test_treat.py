"""The treat check: one food against one class."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from compliance.checks.treat import check_treat
from compliance.models import Referral, TreatCheck
from menus.models import Label, Product
from menus.models.facts import FactChanged
from menus.models.product import Regulator
from roster.models import Child
from tests.cast import Cast
from tests.factories import ChildFactory, EnrolmentFactory, RestrictionFactory, labelled


def check(cast: Cast, label: Label | None, **more: Any) -> TreatCheck:
    return check_treat(
        user=more.pop("user", cast.rosa),
        classroom=cast.larks,
        served_at=timezone.now(),
        source=TreatCheck.Source.PASTED,
        food="Cupcakes",
        label=label,
        **more,
    )


def label_of(text: str) -> Label:
    return labelled(text).labels.get()


def children(result: dict[str, Any], outcome: str) -> set[str]:
    return {row["child"].split()[0] for row in result[outcome]}


def test_children_by_outcome(cast: Cast) -> None:
    """Withheld from those concerned; the others are a number, not a list."""
    result = check(cast, label_of("enriched flour (wheat flour, niacin), sugar, eggs, butter, salt")).result
    assert children(result, "withhold") == {"Noor", "Anneke", "Kofi"}
    assert result["refer"] == []
    assert (result["children"], result["none_found"]) == (8, 5)


def test_the_words_that_caused_it(cast: Cast) -> None:
    """Each finding points into the label as stored."""
    label = label_of("sugar, EGGS, salt")
    row = check(cast, label).result["withhold"][0]
    span = row["findings"][0]["span"]
    assert label.ingredients[span["start"] : span["end"]] == "EGGS"


def test_no_label_is_referred_and_asked(cast: Cast) -> None:
    """Cupcakes without a label: every restricted child is referred, and the nurse sees the question."""
    result = check(cast, None).result
    assert children(result, "refer") == {"Noor", "Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi"}
    assert Referral.objects.waiting().filter(child=cast.noor, food="Cupcakes").exists()


def test_home_made_list_is_referred_even_without_a_match(cast: Cast) -> None:
    """A typed list from a home kitchen says nothing about what touched what."""
    result = check(cast, label_of("rice, sugar"), home_made=True).result
    assert "Mateo" in children(result, "refer")


def test_possible_for_an_ingredient_restriction_is_a_note(cast: Cast) -> None:
    """“May contain pork” does not stop a child who avoids it as an ingredient, and is shown."""
    label = labelled("rice", label={"precautionary": "May contain pork."}).labels.get()
    result = check(cast, label).result
    assert children(result, "notes") == {"Yusuf", "Saoirse"}
    assert result["withhold"] == []


def test_offers_are_nothing_found_for_everybody(cast: Cast) -> None:
    """Only ready-to-eat products with a label, and only those without any finding for this class."""
    Product.objects.filter(pk__in=[cast.larder.rice.pk, cast.larder.yogurt.pk]).update(ready_to_eat=True)
    offers = check(cast, None).result["offers"]
    assert [offer["name"] for offer in offers] == [cast.larder.rice.name]


def test_other_class_is_refused(cast: Cast) -> None:
    """A teacher cannot ask about somebody else's children."""
    with pytest.raises(PermissionDenied):
        check(cast, None, user=cast.dmitri)
    assert TreatCheck.objects.count() == 0


def test_answer_is_kept_as_given(cast: Cast) -> None:
    """A recorded answer is never edited."""
    kept = check(cast, None)
    kept.food = "Something else"
    with pytest.raises(FactChanged):
        kept.save()


def test_child_who_left_is_not_listed(cast: Cast) -> None:
    """Yesterday's enrolment does not count today."""
    gone = timezone.now().date() - timedelta(days=1)
    cast.mateo.enrolments.update(ends_on=gone)
    assert "Mateo" not in children(check(cast, label_of("peanuts")).result, "withhold")


@pytest.mark.parametrize("size", [10, 40])
def test_queries_do_not_grow_with_the_class(cast: Cast, size: int) -> None:
    """The same queries for ten more children and for forty."""
    label = label_of("peanuts, sugar")
    for child in ChildFactory.create_batch(size):
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child, substance="peanut")
    with CaptureQueriesContext(
        connection,
    ) as queries:
        check(cast, label)
    # access: posts of all sites (1); labels of the product and newest words, by which a page knows that it is out of
    # date (1); words accepted (1); the class: children, restrictions, allowances (3); the class table today (1);
    # products to offer (1); the check (1); the record of actions: the end of its chain, the entry, the new end (3)
    assert len(queries) == 13, [query["sql"][:90] for query in queries]


def test_a_home_made_treat_seen_before_is_still_home_made(cast: Cast) -> None:
    """Picked from the list it is no less from a home kitchen than on the day somebody said so."""
    label = labelled("rice, sugar", regulator=Regulator.NONE, origin=Product.Origin.CLASSROOM).labels.get()
    assert "Mateo" in children(check(cast, label).result, "refer")


def test_what_a_young_class_may_choke_on_is_not_offered(cast: Cast) -> None:
    """Popcorn holds nothing that anybody here must avoid, and is nothing for three-year-olds."""
    labelled("popcorn, salt", name="Popcorn", ready_to_eat=True)
    assert [offer["name"] for offer in check(cast, None).result["offers"]] == ["Popcorn"]
    three = timezone.localdate() - timedelta(days=3 * 365 + 30)
    Child.objects.update(birth_date=three)
    assert check(cast, None).result["offers"] == []


@pytest.mark.parametrize("words", [".", "n/a", "see package", "Contains: milk.", "May contain peanuts", "gluten free"])
def test_a_label_that_lists_no_ingredient_is_referred_for_everybody(cast: Cast, words: str) -> None:
    """Half a label, pasted in a hurry, says nothing of what stands on the other half."""
    result = check(cast, label_of(words)).result
    assert children(result, "refer") | children(result, "withhold") >= {"Kofi", "Ifeoma", "Yusuf", "Mateo", "Anneke"}


@pytest.mark.parametrize("words", ["water", "rice, salt", "Ingredients: sugar"])
def test_a_short_list_is_a_list(cast: Cast, words: str) -> None:
    """Nobody is troubled for a label that is merely short."""
    assert check(cast, label_of(words)).result["refer"] == []
