"""Enrolments brought into line with a class list."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from roster.imports.places import Period, adjust, first_overlap

TODAY = date(2026, 10, 13)
START = date(2026, 8, 24)
YESTERDAY = TODAY - timedelta(days=1)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def stays(room: str, starts_on: date = START, ends_on: date | None = None, id: int = 1) -> Period:
    return Period(room, starts_on, ends_on, id=id)


def listed(room: str, starts_on: date = START, ends_on: date | None = None) -> Period:
    return Period(room, starts_on, ends_on, row=2)


Said = set[tuple[str, date, date | None]]


def after(recorded: list[Period], wanted: list[Period], *, end_absent: bool = True) -> Said:
    """What is recorded once the adjustments are made."""
    return {(each.room, each.starts_on, each.ends_on) for each in _applied(recorded, wanted, end_absent)}


def rooms_on(day: date, periods: list[Period]) -> list[str]:
    return [each.room for each in periods if each.starts_on <= day and (each.ends_on is None or day <= each.ends_on)]


def _applied(recorded: list[Period], wanted: list[Period], end_absent: bool = True) -> list[Period]:
    stand = {period.id: period for period in recorded}
    fresh = max(stand, default=0)
    for change in adjust(recorded, wanted, today=TODAY, end_absent=end_absent):
        if change.old:
            del stand[change.old.id]
        if change.new:
            fresh += 1
            key = change.old.id if change.old else fresh
            stand[key] = Period(change.new.room, change.new.starts_on, change.new.ends_on, id=key)
    return list(stand.values())


def test_what_is_listed_as_recorded_stays():
    assert adjust([stays("A")], [listed("A")], today=TODAY, end_absent=True) == []


def test_an_end_that_the_list_gives_is_taken():
    assert after([stays("A")], [listed("A", ends_on=on(3))]) == {("A", START, on(3))}


def test_a_move_with_both_dates_is_taken_as_it_is_listed():
    wanted = [listed("A", ends_on=on(-5)), listed("B", on(-4))]
    assert after([stays("A")], wanted) == {("A", START, on(-5)), ("B", on(-4), None)}


def test_a_move_that_the_list_dates_back_happens_today():
    """The list names only the present class, with the first day of term: the past stays as it was lived."""
    assert after([stays("A")], [listed("B")]) == {("A", START, YESTERDAY), ("B", TODAY, None)}


def test_a_child_whose_next_class_begins_in_a_few_days_stays_in_the_old_one_until_then():
    """Between two classes nobody would check what the child is given."""
    assert after([stays("A")], [listed("B", on(2))]) == {("A", START, on(1)), ("B", on(2), None)}
    assert after([stays("A")], [listed("B", on(30))]) == {("A", START, TODAY), ("B", on(30), None)}


def test_a_child_no_longer_listed_is_still_checked_today():
    assert after([stays("A")], []) == {("A", START, TODAY)}


def test_an_enrolment_to_come_that_is_no_longer_listed_goes():
    assert after([stays("A", on(5))], []) == set()


def test_last_year_stays_on_record():
    past = stays("Z", date(2025, 8, 25), date(2026, 6, 5), id=7)
    assert after([past, stays("A")], [listed("A")]) == {("Z", past.starts_on, past.ends_on), ("A", START, None)}


def test_with_rows_left_out_nobody_leaves_or_moves():
    assert after([stays("A")], [], end_absent=False) == {("A", START, None)}
    assert after([stays("A")], [listed("B")], end_absent=False) == {("A", START, None)}


@st.composite
def timelines(draw, **marks: int) -> list[Period]:
    """Periods of one child that share no day, some with gaps, the last perhaps without an end."""
    periods, at = [], draw(st.integers(-60, 30))
    for number in range(draw(st.integers(0, 4))):
        length = draw(st.integers(0, 30))
        room = draw(st.sampled_from("ABC"))
        id = number + 1 if "id" in marks else 0
        periods.append(Period(room, on(at), on(at + length), id=id, row=marks.get("row", 0)))
        at += length + 1 + draw(st.integers(0, 10))
    if periods and draw(st.booleans()):
        last = periods[-1]
        periods[-1] = Period(last.room, last.starts_on, None, id=last.id, row=last.row)
    return periods


def test_a_past_day_that_two_listed_rooms_claim_stays_where_it_was_lived():
    """What no free day is left for stays as it was recorded, and the others go around it."""
    recorded = [stays("B", on(-30), on(-29), id=1), stays("A", on(-28), on(-28), id=2)]
    wanted = [listed("A", on(-31), on(-31)), listed("A", on(-30), on(-30)), listed("B", on(-29), on(-28))]
    assert first_overlap(_applied(recorded, wanted)) is None


@given(recorded=timelines(id=1), wanted=timelines(row=2))
def test_no_two_enrolments_of_a_child_ever_share_a_day(recorded, wanted):
    assert first_overlap(_applied(recorded, wanted)) is None


@given(recorded=timelines(id=1), wanted=timelines(row=2))
def test_the_second_import_of_the_same_list_does_nothing(recorded, wanted):
    once = _applied(recorded, wanted)
    assert {(p.room, p.starts_on, p.ends_on) for p in _applied(once, wanted)} == {
        (p.room, p.starts_on, p.ends_on) for p in once
    }


@given(recorded=timelines(id=1), wanted=timelines(row=2), ahead=st.integers(0, 90))
def test_from_today_on_every_listed_day_is_in_the_listed_room(recorded, wanted, ahead):
    """A child who sits in a room and is not enrolled there is a child whom nobody checks."""
    rooms = rooms_on(on(ahead), wanted)
    if rooms:
        assert rooms_on(on(ahead), _applied(recorded, wanted)) == rooms


@given(recorded=timelines(id=1), wanted=timelines(row=2))
def test_with_rows_left_out_nobody_loses_a_day_in_a_room_that_is_not_listed(recorded, wanted):
    stand = {each.id: each for each in _applied(recorded, wanted, end_absent=False)}
    assert {each.id for each in recorded} <= stand.keys()
    listed_rooms = {each.room for each in wanted}
    assert all(stand[each.id] == each for each in recorded if each.room not in listed_rooms)
