"""“Allowance applied” stands wherever an allowance makes an outcome milder, and what people see to beside it."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.checks.cycle import lifted_at_meal
from compliance.checks.exceptions import ExceptionFilter, find_exceptions, find_lifted
from compliance.checks.load import load
from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import TreatCheck
from compliance.rules.values import Outcome
from menus.labels.evidence import Kind
from menus.models import Product, Serving
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.factories import AllowanceFactory, RestrictionFactory, ServingFactory, cooked, labelled
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def muffin(cast: Cast) -> Product:
    """A muffin of milk that Anneke may have as labelled, and Ravi may not."""
    product: Product = labelled("wheat flour, milk, sugar", name="Muffin")
    AllowanceFactory(
        restriction=cast.anneke.restrictions.get(), kind=Kind.NAMED.value, about="milk", label=product.labels.get()
    )
    return product


@pytest.fixture
def serving(cast: Cast, muffin: Product) -> Serving:
    """It stands on today's lunch, checked."""
    served: Serving = ServingFactory(site=cast.ferrowick, recipe=cooked("Muffins", muffin))
    check_site(site=cast.ferrowick, trigger="hand")
    return served


def today(cast: Cast) -> ExceptionFilter:
    day = timezone.localdate()
    return ExceptionFilter(day, day, site=cast.ferrowick)


def test_the_list_of_what_is_lifted(cast: Cast, serving: Serving) -> None:
    """It is no exception, and is found all the same; who may not see the child sees neither."""
    (row,) = find_lifted(None, today(cast))
    assert (row.child, row.dish, row.outcome) == (cast.anneke, "Muffins", Outcome.NONE_FOUND)
    assert [reason.kind for reason in row.lifted] == [Kind.NAMED]
    assert not [
        each for each in find_exceptions(None, today(cast)) if each.child == cast.anneke and each.dish == row.dish
    ]
    assert find_lifted(cast.rosa, today(cast)) == [row]
    assert find_lifted(cast.dmitri, today(cast)) == []


def test_an_allowance_that_changes_nothing_is_not_listed(cast: Cast, serving: Serving) -> None:
    """The oat bar may contain milk, which nobody allowed, so it is withheld and nothing is lifted."""
    assert {row.dish for row in find_lifted(None, today(cast))} == {"Muffins"}


def test_what_else_was_found_stands_beside_it(cast: Cast, muffin: Product) -> None:
    """Milk in the muffin is allowed; the word that nobody knows beside it is not."""
    mix = labelled("sugar, zanthopyl", name="Topping")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Iced muffins", muffin, mix))
    check_site(site=cast.ferrowick, trigger="hand")
    (row,) = [each for each in find_lifted(None, today(cast)) if each.dish == "Iced muffins"]
    assert (row.outcome, [reason.kind for reason in row.lifted]) == (Outcome.REFER, [Kind.NAMED])


def test_on_the_page_of_the_dish(cast: Cast, serving: Serving) -> None:
    """The kitchen reads whose plate the dish is on by an allowance alone, and what ends it."""
    page = words(as_user(cast.greta).get(reverse("serving", args=[serving.pk])))
    shown = page[page.index("Allowance applied") :]
    assert "Anneke" in shown and "Nothing else found" in shown
    assert "Any other product or label ends it" in shown


def test_among_the_exceptions_and_in_the_file(cast: Cast, serving: Serving) -> None:
    """In a column of its own; the row is not counted as an exception."""
    june = as_user(cast.june)
    assert "Allowance applied" in words(june.get(reverse("exceptions")))
    text = june.get(reverse("exceptions-export", args=["csv"])).content.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text)))
    head = next(row for row in rows if row[0] == "Date")
    by_name = [dict(zip(head, row, strict=True)) for row in rows[rows.index(head) + 1 :]]
    (lifted,) = [row for row in by_name if row["Dish"] == "Muffins" and row["Child"].startswith("Anneke")]
    assert lifted["Outcome"] == "none found" and "name “milk”" in lifted["Allowance applied"]
    count = next(row[1] for row in rows if row[0] == "Exceptions")
    assert int(count) == sum(row["Outcome"] != "none found" for row in by_name)


def test_in_the_api(cast: Cast, serving: Serving) -> None:
    """A list of its own, and a mark on every row."""
    day = timezone.localdate().isoformat()
    answer = Asker(cast.june).get("exceptions/", first=day, last=day).json()
    (lifted,) = answer["lifted"]
    assert (lifted["child"]["id"], lifted["dish"], lifted["outcome"]) == (cast.anneke.pk, "Muffins", "none-found")
    assert lifted["allowance_applied"] is True
    assert not any(row["allowance_applied"] for row in answer["results"])


def test_at_a_treat(cast: Cast, muffin: Product) -> None:
    """On the answer and in the API, with the child."""
    check = check_said(
        user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(product=muffin, name="Muffin")
    )
    page = words(as_user(cast.rosa).get(reverse("treat-result", args=[check.pk])))
    assert "Allowance applied : milk. Signed by licensed staff" in page
    notes = Asker(cast.rosa).get(f"treat-checks/{check.pk}/").json()["notes"]
    assert [(row["child"]["id"], row["allowance_applied"]) for row in notes] == [(cast.anneke.pk, True)]


def test_for_the_cooks_sheet(cast: Cast, serving: Serving) -> None:
    """By dish and number; no child is named on it."""
    day = timezone.localdate()
    facts = load(cast.ferrowick, day, day, timezone.now())
    assert lifted_at_meal(facts, day, serving.meal) == [("Muffins", 1)]
    assert lifted_at_meal(facts, day + timedelta(days=1), serving.meal) == []


TOLD = "Food: level 5."


@pytest.fixture
def seen_to(cast: Cast) -> None:
    """Anneke's food has a texture, which no check looks for; so has Bao's, who meets nothing."""
    for child in (cast.anneke, cast.bao):
        RestrictionFactory(child=child, substance="", told=TOLD, kind="dysphagia", basis="reported", statement=None)
    check_site(site=cast.ferrowick, trigger="hand")


@pytest.mark.usefixtures("seen_to")
class TestWhatPeopleSeeTo:
    """“None found” does not cover it, so no answer may leave it out."""

    def test_the_children_of_a_class(self, cast: Cast) -> None:
        """Beside what is looked for, not among it."""
        rows = Asker(cast.rosa).get(f"classrooms/{cast.larks.pk}/children/").json()["results"]
        told = {row["name"].split()[0]: (row["seen_to"], len(row["restrictions"])) for row in rows}
        assert (told["Anneke"], told["Bao"], told["Mateo"]) == (([TOLD], 1), ([TOLD], 0), ([], 1))

    def test_exceptions(self, cast: Cast) -> None:
        """On every row of the child."""
        day = timezone.localdate().isoformat()
        rows = Asker(cast.june).get("exceptions/", first=day, last=day).json()["results"]
        told = {row["child"]["name"].split()[0]: row["seen_to"] for row in rows}
        assert told["Anneke"] == [TOLD] and told["Mateo"] == []

    def test_the_file(self, cast: Cast) -> None:
        """A column, and a line that says where those stand who meet nothing."""
        text = as_user(cast.june).get(reverse("exceptions-export", args=["csv"])).content.decode("utf-8-sig")
        assert TOLD in text and "People see to" in text
        assert "No check looks for textures" in text and "dysphagia" not in text.lower()

    def test_a_treat(self, cast: Cast) -> None:
        """Of the whole class."""
        check: TreatCheck = check_said(
            user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(text="sugar", name="Sugar")
        )
        told = Asker(cast.rosa).get(f"treat-checks/{check.pk}/").json()["seen_to"]
        assert sorted(row["child"]["id"] for row in told) == sorted([cast.anneke.pk, cast.bao.pk])
        assert {row["told"] for row in told} == {TOLD}
