"""Children into classrooms: overlaps are refused, and many at once are written as one by one."""

from __future__ import annotations

import json
from datetime import date

import pytest
from django.core.exceptions import ValidationError

from compliance.checks import recheck
from roster.enrolling import change_days, enrol, enrol_all
from roster.models import Action, Enrolment, Verb
from tests.cast import Cast
from tests.factories import ChildFactory

SCHOOL_YEAR = (date(2026, 8, 17), date(2027, 6, 4))


@pytest.mark.parametrize(
    ("starts_on", "ends_on"),
    [
        (date(2026, 8, 1), date(2026, 8, 17)),
        (date(2027, 6, 4), None),
        (date(2026, 9, 1), date(2026, 9, 1)),
        (date(2026, 1, 1), None),
    ],
)
def test_overlapping_enrolment_is_refused(cast: Cast, starts_on: date, ends_on: date | None) -> None:
    """Both ends count as days in class."""
    child = ChildFactory()
    enrol(child=child, classroom=cast.larks, starts_on=SCHOOL_YEAR[0], ends_on=SCHOOL_YEAR[1])
    with pytest.raises(ValidationError, match="already in Larks from 2026-08-17 to 2027-06-04"):
        enrol(child=child, classroom=cast.minnows, starts_on=starts_on, ends_on=ends_on)
    assert Enrolment.objects.filter(child=child).count() == 1


def test_enrolment_may_follow_the_next_day(cast: Cast) -> None:
    """A transfer in the middle of the week."""
    child = ChildFactory()
    enrol(child=child, classroom=cast.larks, starts_on=SCHOOL_YEAR[0], ends_on=date(2026, 10, 14))
    enrol(child=child, classroom=cast.minnows, starts_on=date(2026, 10, 15))
    assert Enrolment.objects.on(date(2026, 10, 15)).get(child=child).classroom == cast.minnows
    assert Enrolment.objects.on(date(2026, 10, 14)).get(child=child).classroom == cast.larks


def test_enrolment_cannot_end_before_it_begins(cast: Cast) -> None:
    """The database says so too; the form repeats it."""
    with pytest.raises(ValidationError, match="cannot end before it begins"):
        enrol(child=ChildFactory(), classroom=cast.larks, starts_on=date(2026, 9, 2), ends_on=date(2026, 9, 1))


class TestEnrolAll:
    """Many at once, as one by one."""

    def test_each_is_on_record_and_a_room_is_checked_again_once(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Whoever writes past the signals tells what they would have told."""
        queued: list[Enrolment] = []
        monkeypatch.setattr(recheck, "queue_recheck", lambda *, instance, **_: queued.append(instance))
        children, before = [ChildFactory() for _ in range(3)], Action.objects.count()
        made = enrol_all([Enrolment(child=each, classroom=cast.larks, starts_on=SCHOOL_YEAR[0]) for each in children])
        entries = Action.objects.order_by("pk")[before:]
        assert [(each.verb, each.child, each.site) for each in entries] == [
            (Verb.RECORDED, child, cast.ferrowick) for child in children
        ]
        assert [each.subject for each in entries] == [f"enrolment {each.pk}" for each in made]
        assert [each.classroom for each in queued] == [cast.larks]

    def test_one_that_overlaps_stops_all(self, cast: Cast) -> None:
        """With what is on record."""
        first, second = ChildFactory(), ChildFactory()
        enrol(child=second, classroom=cast.larks, starts_on=SCHOOL_YEAR[0])
        wanted = [Enrolment(child=each, classroom=cast.minnows, starts_on=SCHOOL_YEAR[1]) for each in (first, second)]
        with pytest.raises(ValidationError, match="already in Larks"):
            enrol_all(wanted)
        assert not first.enrolments.exists()

    def test_two_of_one_child_must_not_overlap_each_other(self, cast: Cast) -> None:
        """The second sees the first, though neither is written yet."""
        child = ChildFactory()
        halves = [
            Enrolment(child=child, classroom=room, starts_on=SCHOOL_YEAR[0]) for room in (cast.larks, cast.minnows)
        ]
        with pytest.raises(ValidationError, match="already in Larks"):
            enrol_all(halves)
        halves[0].ends_on, halves[1].starts_on = date(2026, 10, 14), date(2026, 10, 15)
        assert len(enrol_all(halves)) == 2


class TestChangeDays:
    """Other days for many at once."""

    def test_each_is_on_record_with_what_stood_before(self, cast: Cast) -> None:
        stays = [enrol(child=ChildFactory(), classroom=cast.larks, starts_on=SCHOOL_YEAR[0]) for _ in range(2)]
        count = Action.objects.count()
        change_days({each.pk: (each.starts_on, SCHOOL_YEAR[1]) for each in stays})
        entries = Action.objects.order_by("pk")[count:]
        assert [(each.child, each.site) for each in entries] == [(each.child, cast.ferrowick) for each in stays]
        for entry in entries:
            said = {"before": {"ends_on": None}, "after": {"ends_on": "2027-06-04"}}
            assert json.loads(entry.payload)["said"] == said
        assert {each.ends_on for each in Enrolment.objects.filter(pk__in=[each.pk for each in stays])} == {
            SCHOOL_YEAR[1]
        }

    def test_one_that_is_wrong_stops_all(self, cast: Cast) -> None:
        """Ending before it begins, or not there at all."""
        stay = enrol(child=ChildFactory(), classroom=cast.larks, starts_on=SCHOOL_YEAR[0])
        other = enrol(child=ChildFactory(), classroom=cast.larks, starts_on=SCHOOL_YEAR[0])
        good = {stay.pk: (SCHOOL_YEAR[0], SCHOOL_YEAR[1])}
        with pytest.raises(ValidationError, match="cannot end before it begins"):
            change_days({**good, other.pk: (SCHOOL_YEAR[0], date(2026, 1, 1))})
        with pytest.raises(KeyError):
            change_days({**good, 0: (SCHOOL_YEAR[0], None)})
        stay.refresh_from_db()
        assert stay.ends_on is None
