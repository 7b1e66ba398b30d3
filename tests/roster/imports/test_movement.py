"""What a class list means for one child, day by day."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given

from roster.imports.movement import Kind, Movement, applied, movement
from roster.imports.places import Period, adjust
from tests.roster.imports.test_places import START, TODAY, listed, on, stays, timelines


def after(recorded: list[Period], wanted: list[Period]) -> Movement | None:
    return movement(recorded, applied(recorded, adjust(recorded, wanted, today=TODAY, end_absent=True)), TODAY)


@pytest.mark.parametrize(
    ("recorded", "wanted", "kind", "words"),
    [
        ([], [listed("A", on(2))], Kind.ARRIVES, f"A from {on(2)}"),
        ([], [listed("A", on(-9), on(-2))], None, ""),
        ([stays("A")], [listed("A")], None, ""),
        ([stays("A")], [], Kind.LEAVES, f"A, last day {TODAY}"),
        ([stays("A")], [listed("A", ends_on=on(5))], Kind.LEAVES, f"A, last day {on(5)}"),
        ([stays("A", on(5))], [], Kind.LEAVES, "A, before the first day"),
        ([stays("A")], [listed("B", on(1))], Kind.MOVES, f"A → B from {on(1)}"),
        ([stays("A")], [listed("B")], Kind.MOVES, f"A → B from {TODAY}"),
        ([stays("A", START, on(-20))], [listed("A", START, on(-20))], None, ""),
        ([stays("A", START, on(-20))], [listed("B", on(1))], Kind.COMES_BACK, f"B from {on(1)}"),
        ([stays("A", ends_on=on(5))], [listed("A", ends_on=on(9))], Kind.OTHER_DAYS, f"A from {START} to {on(9)}"),
    ],
)
def test_each_kind(recorded: list[Period], wanted: list[Period], kind: Kind | None, words: str) -> None:
    found = after(recorded, wanted)
    assert (found and (found.kind, found.words)) == (kind and (kind, words))


def test_the_last_day_of_one_who_leaves_is_given() -> None:
    left = after([stays("A")], [])
    assert left is not None
    assert left.last_day == TODAY
    moved = after([stays("A")], [listed("B")])
    assert moved is not None
    assert moved.last_day is None


@given(recorded=timelines(id=1), wanted=timelines(row=2))
def test_nobody_is_said_to_leave_who_has_as_many_days_ahead(recorded: list[Period], wanted: list[Period]) -> None:
    """And whoever has fewer at the end is said to."""
    stand = applied(recorded, adjust(recorded, wanted, today=TODAY, end_absent=True))
    found = movement(recorded, stand, TODAY)
    had, has = (max((p.ends_on or date.max for p in each), default=date.min) for each in (recorded, stand))
    if had >= TODAY:
        assert (found is not None and found.kind is Kind.LEAVES) == (has < had)
    else:
        assert found is None or found.kind is not Kind.LEAVES


@given(recorded=timelines(id=1))
def test_a_list_that_says_what_is_recorded_moves_nobody(recorded: list[Period]) -> None:
    same = [Period(each.room, each.starts_on, each.ends_on, row=2) for each in recorded]
    assert after(recorded, same) is None
