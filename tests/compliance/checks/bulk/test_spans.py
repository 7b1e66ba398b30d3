"""Restrictions read as numbers are the restrictions read one by one, whatever begins or ends meanwhile."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from compliance.checks.bulk import spans as module
from compliance.checks.bulk.spans import Span, spans
from compliance.checks.children import children_at, periods
from menus.labels.evidence import Kind
from menus.models import Site
from roster.kinds.days import SetDays
from roster.models import Basis, Enrolment
from tests.factories import (
    AllowanceFactory,
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    LabelFactory,
    RestrictionFactory,
)

FIRST = date(2026, 11, 25)
LAST = FIRST + timedelta(days=13)


def days() -> st.SearchStrategy[date | None]:
    """Around the window, or open."""
    return st.none() | st.integers(-3, 16).map(lambda n: FIRST + timedelta(days=n))


def same(site: Site) -> None:
    """Hold the two ways of reading against each other."""
    at = timezone.now()
    alone = {
        (each.restriction.pk, each.restriction.child_id, each.type, each.first, each.last)
        for each in periods(children_at(site, FIRST, LAST), FIRST, LAST, at)
    }
    found = spans([site], FIRST, LAST, at)[site.pk]
    assert len(found) == len(set(found))
    assert {tuple(each) for each in found} == alone


class Random(TestCase):
    """On random children."""

    @given(
        dealt=st.lists(
            st.tuples(days(), days(), st.sampled_from(list(SetDays)), st.booleans(), st.lists(days(), max_size=2)),
            min_size=1,
            max_size=4,
        )
    )
    def test_the_same_spans(
        self, dealt: list[tuple[date | None, date | None, SetDays, bool, list[date | None]]]
    ) -> None:
        """Restrictions that begin, end, keep to set days or were carried on, with allowances that begin and end."""
        room = ClassroomFactory()
        label = LabelFactory()
        for begins, ends, kept, carried_on, allowed in dealt:
            child = ChildFactory()
            EnrolmentFactory(child=child, classroom=room, starts_on=FIRST)
            if begins and ends and ends < begins:
                begins, ends = ends, begins
            held = {"starts_on": begins, "ends_on": ends, "days": kept, "basis": Basis.FAMILY}
            restriction = RestrictionFactory(child=child, substance="milk", **held)
            for until in allowed:
                AllowanceFactory(
                    restriction=restriction,
                    kind=Kind.MAY_CONTAIN,
                    label=label,
                    starts_on=FIRST - timedelta(days=9),
                    ends_on=until or LAST,
                )
            if carried_on:
                RestrictionFactory(child=child, substance="milk", replaces=restriction, **held)
        same(room.site)


@pytest.mark.django_db
def test_a_child_of_two_sites_stands_at_both() -> None:
    """And one of another site at none of them."""
    rooms = [ClassroomFactory(), ClassroomFactory(), ClassroomFactory()]
    moved = ChildFactory()
    EnrolmentFactory(child=moved, classroom=rooms[0], starts_on=FIRST, ends_on=FIRST)
    EnrolmentFactory(child=moved, classroom=rooms[1], starts_on=FIRST + timedelta(days=1))
    stays = ChildFactory()
    EnrolmentFactory(child=stays, classroom=rooms[2], starts_on=FIRST)
    for child in (moved, stays):
        RestrictionFactory(child=child, substance="egg")
    sites = [room.site for room in rooms[:2]]
    found = spans(sites, FIRST, LAST, timezone.now())
    assert {site: {each.child for each in held} for site, held in found.items()} == {
        site.pk: {moved.pk} for site in sites
    }


@pytest.mark.django_db
def test_a_child_that_leaves_while_it_is_read_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody holds the class list meanwhile; the change is noted, and the site is checked again."""
    stay = EnrolmentFactory()
    RestrictionFactory(child=stay.child, substance="milk")
    there = module._spans

    def read(*asked: Any) -> list[Span]:
        found = list(there(*asked))
        Enrolment.objects.update(ends_on=FIRST - timedelta(days=1))
        return found

    monkeypatch.setattr(module, "_spans", read)
    site = stay.classroom.site
    assert spans([site], FIRST, LAST, timezone.now()) == {site.pk: []}
