"""Exceptions as read from stored codes are those of a plain loop over children and dishes, on random worlds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from compliance.checks.bulk.larder import Larder
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.table import Table
from compliance.checks.codec import finding_json, fingerprint, type_json
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions, find_lifted, found_exceptions
from compliance.checks.reasons import Reason, stored_reasons
from compliance.checks.run import check_site
from compliance.checks.store import stand, store_verdicts
from compliance.checks.unread import NOT_READ
from compliance.models import CheckedDay, DishVerdicts, Panel, RestrictionTypeRow, Run
from compliance.rules.judge import judge
from compliance.rules.register import RULES
from compliance.rules.values import Outcome, RestrictionType, Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Evidence, Kind
from menus.labels.lexicon import Lexicon
from menus.models import Serving, Site
from roster.models import AllowanceWithdrawal, Classroom, Enrolment, Restriction
from tests.compliance.checks.bulk.test_judge import worlds
from tests.factories import (
    AllowanceFactory,
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    RecipeFactory,
    RestrictionFactory,
    ServingFactory,
    cooked,
    labelled,
)

BACK, AHEAD = -1, 2
"""The days of a world: from yesterday to the day after tomorrow."""

Shown = tuple[int, int, int, Outcome, tuple[Reason, ...]]
"""A serving, a classroom, a restriction, and what stands there."""


@dataclass(frozen=True, slots=True)
class Held:
    """What is dealt to one child: places in lists, and days counted from today."""

    kind: int
    room: int  # the last one is at another site
    there: tuple[int, int]
    holds: tuple[int, int]
    is_read: bool


@dataclass(frozen=True, slots=True)
class Dealt:
    """A random world, not yet stored."""

    dishes: list[Pieces]
    kinds: list[RestrictionType]
    children: list[Held]
    servings: list[tuple[int, int, bool]]  # dish, day, whether it was taken off the plan
    unchecked: int  # a day that no run speaks for
    is_named: bool  # whether the panel names every type


@st.composite
def dealt(draw: st.DrawFn) -> Dealt:
    """Some dishes on some days, and some children with what they may not have."""
    dishes, kinds = draw(worlds().filter(lambda world: all(world)))
    days = st.tuples(st.integers(BACK, AHEAD), st.integers(BACK, AHEAD)).map(lambda pair: (min(pair), max(pair)))
    held = st.builds(
        Held,
        kind=st.integers(0, len(kinds) - 1),
        room=st.sampled_from((0, 0, 1, 1, 2)),
        there=days | st.just((BACK, AHEAD)),
        holds=days | st.just((BACK, AHEAD)),
        is_read=st.sampled_from((True, True, True, False)),
    )
    planned = st.tuples(
        st.integers(0, len(dishes) - 1), st.integers(BACK, AHEAD), st.sampled_from((False, False, True))
    )
    return Dealt(
        dishes,
        kinds,
        draw(st.lists(held, min_size=1, max_size=5)),
        draw(st.lists(planned, min_size=1, max_size=6, unique_by=lambda each: each[:2])),
        draw(st.sampled_from((BACK, 0, AHEAD + 1, AHEAD + 1))),
        draw(st.booleans()),
    )


@dataclass(slots=True)
class World:
    """A world as it is stored."""

    today: date
    site: Site
    rooms: list[Classroom]
    servings: list[tuple[Serving, Pieces]] = field(default_factory=list)
    held: list[tuple[Held, Restriction, RestrictionType, Enrolment]] = field(default_factory=list)
    unchecked: date = date.max
    unnamed: RestrictionType | None = None

    @property
    def first(self) -> date:
        return self.today + timedelta(days=BACK)

    @property
    def last(self) -> date:
        return self.today + timedelta(days=AHEAD)

    @property
    def asked(self) -> ExceptionFilter:
        """Everything."""
        return ExceptionFilter(self.first, self.last, site=self.site)

    def pairs(self) -> Iterator[tuple[Serving, Pieces, Held, Restriction, RestrictionType, Enrolment]]:
        """Every dish that was checked with every child that is there and every restriction that holds."""
        for serving, pieces in self.servings:
            if serving.withdrawn_at or serving.date == self.unchecked:
                continue
            for held, restriction, kind, enrolment in self.held:
                is_there = enrolment.starts_on <= serving.date <= (enrolment.ends_on or date.max)
                if held.room < 2 and is_there and restriction.holds_on(serving.date):
                    yield serving, pieces, held, restriction, kind, enrolment


def stored(deal: Dealt) -> World:
    """Store a world, checked as a run does it."""
    rooms = [ClassroomFactory()]
    rooms += [ClassroomFactory(site=rooms[0].site), ClassroomFactory()]
    site, now = rooms[0].site, timezone.now()
    world = World(now.astimezone(site.zone).date(), site, rooms)
    for each in deal.children:
        _enter(world, each, deal.kinds[each.kind])
    larder = Larder({}, [], [], Lexicon.load())
    spans = [span for each in world.held if each[0].is_read for span in _spans(*each)]
    table = Table(world.first, world.last, now, larder, {site.pk: spans}, list(dict.fromkeys(s.type for s in spans)))
    recipes = [RecipeFactory() for _ in deal.dishes]
    table.served[site.pk] = []
    for dish, offset, is_withdrawn in deal.servings:
        serving = ServingFactory(
            site=site,
            recipe=recipes[dish],
            date=world.today + timedelta(days=offset),
            withdrawn_at=now if is_withdrawn else None,
        )
        world.servings.append((serving, deal.dishes[dish]))
        row = table.own(site, recipes[dish].pk, deal.dishes[dish])
        table.served[site.pk].append((serving.pk, serving.date, row))
    table.judge()
    rows = store_verdicts(table)
    window = {"first_day": world.first, "last_day": world.last}
    run = Run.objects.create(site=site, trigger="hand", state="complete", as_of=now, panel=rows.panel, **window)
    stand(table, rows, {site.pk: run})
    _take_back(world, deal, table)
    return world


def _enter(world: World, each: Held, kind: RestrictionType) -> None:
    child = ChildFactory()
    begins, ends = (world.today + timedelta(days=n) for n in each.there)
    enrolment = EnrolmentFactory(child=child, classroom=world.rooms[each.room], starts_on=begins, ends_on=ends)
    first, last = (world.today + timedelta(days=n) for n in each.holds)
    what = {"substance": kind.substance, "strictness": kind.strictness}
    restriction = RestrictionFactory(child=child, starts_on=first, ends_on=last, **what)
    world.held.append((each, restriction, kind, enrolment))


def _spans(_: Held, restriction: Restriction, kind: RestrictionType, __: Enrolment) -> Iterator[Span]:
    assert restriction.starts_on and restriction.ends_on
    yield Span(restriction.pk, restriction.child_id, kind, restriction.starts_on, restriction.ends_on)


def _take_back(world: World, deal: Dealt, table: Table) -> None:
    """Leave one day unchecked, and one type out of the panel."""
    world.unchecked = world.today + timedelta(days=deal.unchecked)
    CheckedDay.objects.filter(day=world.unchecked).delete()
    if not deal.is_named and table.types:
        world.unnamed = table.types[0]
        row = RestrictionTypeRow.objects.get(key=fingerprint(type_json(world.unnamed)))
        panel = Panel.objects.get()
        Panel.objects.update(types=[pk for pk in panel.types if pk != row.pk])


def shown(rows: list[ExceptionRow]) -> list[Shown]:
    return sorted(
        ((row.serving.pk, row.classroom.pk, row.restriction.pk, row.outcome, row.reasons) for row in rows),
        key=lambda each: each[:3],
    )


def looped(world: World, *, unread: bool = True) -> list[Shown]:
    """The exceptions by judging every dish for every child; without what has not been read, if that is wanted."""
    found: list[Shown] = []
    for serving, pieces, held, restriction, kind, enrolment in world.pairs():
        at = (serving.pk, enrolment.classroom_id, restriction.pk)
        if held.is_read and kind != world.unnamed:
            verdict = judge(kind, pieces)
            if verdict.outcome >= Outcome.REFER:
                found.append((*at, verdict.outcome, why(kind, pieces)))
        elif unread and (held.is_read or serving.date >= world.today):
            found.append((*at, Outcome.REFER, (NOT_READ,)))
    return sorted(found, key=lambda each: each[:3])


def looped_lifted(world: World) -> list[Shown]:
    """Where an allowance covers something graver than what is left."""
    return sorted(
        (
            (serving.pk, enrolment.classroom_id, restriction.pk, judge(kind, pieces).outcome, why(kind, pieces))
            for serving, pieces, held, restriction, kind, enrolment in world.pairs()
            if held.is_read and kind != world.unnamed and covers(kind, pieces)
        ),
        key=lambda each: each[:3],
    )


def covers(kind: RestrictionType, pieces: Pieces) -> bool:
    verdict = judge(kind, pieces)
    return any(finding.allowed and finding.outcome > verdict.outcome for finding in verdict.findings)


def why(kind: RestrictionType, pieces: Pieces) -> tuple[Reason, ...]:
    return tuple(stored_reasons([finding_json(finding) for finding in judge(kind, pieces).findings]))


def same(one: list[Shown], other: list[Shown]) -> None:
    """What a dish says twice is stored once, and reasons of one weight may come in either order."""
    assert [each[:4] for each in one] == [each[:4] for each in other]
    for mine, theirs in zip(one, other, strict=True):
        assert set(mine[4]) == set(theirs[4])
        weights = [[(reason.allowed, -reason.outcome) for reason in dict.fromkeys(each[4])] for each in (mine, theirs)]
        assert weights[0] == weights[1]


class Random(TestCase):
    """On random worlds."""

    @settings(max_examples=30)
    @given(deal=dealt())
    def test_what_is_read_is_what_a_plain_loop_finds(self, deal: Dealt) -> None:
        """Found, not read and lifted; whatever was taken off the plan, is not checked or has not been judged."""
        world = stored(deal)
        same(shown(find_exceptions(None, world.asked)), looped(world))
        same(shown(found_exceptions(world.asked)), looped(world, unread=False))
        same(shown(find_lifted(None, world.asked)), looped_lifted(world))

    @settings(max_examples=15)
    @given(deal=dealt(), rule=st.sampled_from([rule.id for rule in RULES]), outcome=st.sampled_from(Outcome))
    def test_a_filter_leaves_out_and_changes_nothing(self, deal: Dealt, rule: str, outcome: Outcome) -> None:
        """By class, child, substance, outcome or any reason that counts: what the whole has of it."""
        world = stored(deal)
        every = find_exceptions(None, world.asked)
        restriction = world.held[0][1]
        child, avoided = restriction.child, restriction.substance
        for asked, wanted in (
            ({"classroom": world.rooms[1]}, [row for row in every if row.classroom == world.rooms[1]]),
            ({"child": child}, [row for row in every if row.child == child]),
            ({"substance": avoided}, [row for row in every if row.restriction.substance == avoided]),
            ({"outcome": outcome}, [row for row in every if row.outcome is outcome]),
            (
                {"rule": rule},
                [row for row in every if any(each.rule == rule and not each.allowed for each in row.reasons)],
            ),
        ):
            assert shown(find_exceptions(None, replace(world.asked, **asked))) == shown(wanted)

    @settings(max_examples=15)
    @given(deal=dealt())
    def test_what_older_rules_judged_is_judged_anew(self, deal: Dealt) -> None:
        """Until the next check, so that outcome and reasons go together; nothing of the old codes is believed."""
        world = stored(deal)
        Panel.objects.update(edition="older")
        DishVerdicts.objects.update(codes=b"")
        same(shown(find_exceptions(None, world.asked)), looped(world))
        same(shown(find_lifted(None, world.asked)), looped_lifted(world))


@pytest.mark.django_db
def test_a_dish_that_was_not_judged_is_not_taken_for_none_found() -> None:
    """Without its verdicts it is `refer` for everybody whose restrictions the run has read; with them, nothing."""
    child = Held(kind=0, room=0, there=(BACK, AHEAD), holds=(BACK, AHEAD), is_read=True)
    milk = RestrictionType("milk", Strictness.TRACE)
    rice = (Evidence("rice", Kind.NAMED),)
    world = stored(Dealt([rice], [milk], [child], [(0, BACK, False)], unchecked=AHEAD + 1, is_named=True))
    assert find_exceptions(None, world.asked) == []
    DishVerdicts.objects.all().delete()
    (row,) = find_exceptions(None, world.asked)
    assert (row.outcome, row.reasons) == (Outcome.REFER, (NOT_READ,))


@pytest.mark.django_db
@pytest.mark.parametrize("is_signed_again", [False, True])
def test_what_was_allowed_is_refer_once_the_allowance_is_withdrawn(is_signed_again: bool) -> None:
    """Until the next check, where the allowance made the dish milder; unless another one allows the same."""
    stay = EnrolmentFactory()
    restriction = RestrictionFactory(child=stay.child, substance="peanut")
    allowance = AllowanceFactory(restriction=restriction)
    site = stay.classroom.site
    fried, _ = (
        ServingFactory(site=site, recipe=cooked(name, labelled(name))) for name in ("refined peanut oil", "rice")
    )
    check_site(site=site, trigger=Run.Trigger.NIGHT)
    asked = ExceptionFilter(timezone.localdate(), timezone.localdate(), site=site)
    (lifted,) = find_lifted(None, asked)
    assert (lifted.serving, lifted.outcome, find_exceptions(None, asked)) == (fried, Outcome.NONE_FOUND, [])
    if is_signed_again:
        AllowanceFactory(restriction=restriction)
    AllowanceWithdrawal.objects.create(
        allowance=allowance, reason="reaction", withdrawn_by=allowance.signed_by, signature="A. Example, RD"
    )
    rows = find_exceptions(None, asked)
    if is_signed_again:
        assert (rows, len(find_lifted(None, asked))) == ([], 1)
    else:
        assert [(row.serving, row.outcome, row.reasons) for row in rows] == [(fried, Outcome.REFER, (NOT_READ,))]
        assert find_lifted(None, asked) == []
    check_site(site=site, trigger=Run.Trigger.CHANGE)
    outcomes = [row.outcome for row in find_exceptions(None, asked)]
    assert outcomes == ([] if is_signed_again else [Outcome.REFER])
