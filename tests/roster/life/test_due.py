"""What licensed staff have to see to, and what they have not."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from roster.life.due import Why, due
from roster.models import Basis, Child
from tests.cast import Cast
from tests.factories import RestrictionFactory, ReviewFactory, StatementFactory


def reasons(cast: Cast) -> list[str]:
    found = due(Child.objects.filter(pk=cast.bao.pk), timezone.localdate(), timezone.now())
    return [each.why.value for each in found]


def signed(cast: Cast, days_left: int, *, reviewed: bool = True, wanting: str = "") -> None:
    """A milk restriction on a statement that runs out in so many days."""
    review_on = timezone.localdate() + timedelta(days=days_left)
    statement = StatementFactory(child=cast.bao, review_on=review_on, signed_on=review_on - timedelta(days=365))
    review = ReviewFactory(statement=statement, wanting=wanting) if reviewed else None
    RestrictionFactory(child=cast.bao, substance="milk", statement=statement, review=review, review_on=review_on)


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [
        (61, []),
        (60, [Why.LONG]),
        (31, [Why.LONG]),
        (30, [Why.MIDDLE]),
        (8, [Why.MIDDLE]),
        (7, [Why.SHORT]),
        (1, [Why.SHORT]),
        (0, [Why.EXPIRED]),
        (-90, [Why.EXPIRED]),
    ],
)
def test_reminders_at_sixty_thirty_and_seven_days(cast: Cast, days_left: int, expected: list[Why]) -> None:
    """Common practice, no source. On its last day it counts as run out, and stays on the list."""
    signed(cast, days_left)
    assert reasons(cast) == expected


def test_a_statement_waits_for_its_review(cast: Cast) -> None:
    """However long it is good for."""
    signed(cast, 300, reviewed=False)
    assert reasons(cast) == [Why.UNREVIEWED]


def test_a_better_statement_stays_on_the_list_until_it_comes(cast: Cast) -> None:
    """Also while the old one is about to run out."""
    signed(cast, 50, wanting="What to give instead.")
    assert reasons(cast) == [Why.WANTING]


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"basis": Basis.REPORTED, "kind": "milk-allergy"}, [Why.UNSIGNED]),
        ({"basis": Basis.REPORTED, "kind": ""}, [Why.UNSIGNED]),
        ({"basis": Basis.REPORTED, "kind": "gluten-sensitivity", "substance": "gluten"}, []),
        ({"basis": Basis.RELIGIOUS, "kind": "halal", "substance": "pork"}, []),
        ({"basis": Basis.REPORTED, "ends_on": timezone.localdate() - timedelta(days=2)}, []),
    ],
)
def test_a_report_waits_for_a_statement_where_one_is_expected(cast: Cast, fields: dict, expected: list[Why]) -> None:
    """Not for what a family keeps, not where none is needed, not for what has ended."""
    RestrictionFactory(child=cast.bao, **fields)
    assert reasons(cast) == expected


def test_the_most_pressing_comes_first_in_one_query(cast: Cast, django_assert_num_queries) -> None:
    """One child or many."""
    signed(cast, 60)
    RestrictionFactory(child=cast.bao, substance="egg", basis=Basis.REPORTED)
    signed(cast, -1)
    for children in (Child.objects.filter(pk=cast.bao.pk), Child.objects.all()):
        with django_assert_num_queries(1):  # versions with child, statement and review
            due(children, timezone.localdate(), timezone.now())
    assert reasons(cast) == [Why.EXPIRED, Why.UNSIGNED, Why.LONG]
