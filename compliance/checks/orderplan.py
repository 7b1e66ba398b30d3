"""An order of work found for one meal, as rows of the kitchen's plan, and what it means for children."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from django.utils import timezone

from compliance.checks.facts import Facts
from compliance.checks.load import load
from compliance.checks.ordereffect import Effect, Key, Met, Turn, effect, met_by
from compliance.checks.ordersheet import SheetRow, sheet_rows
from compliance.checks.orderwork import MealWork
from menus.models import Action, PlanStep, Site, Surface
from menus.planning.plan import Plan, Washed
from menus.planning.propose import Proposal, propose


@dataclass(frozen=True, slots=True)
class Change:
    """One row of the plan that gives way to another; without `old` it is added."""

    old: int | None
    at: time
    surface: int
    method: str = ""
    minutes: int = 0


@dataclass(frozen=True)
class OrderOfWork:
    """Today's order of work of one meal beside the one proposed, each as the service's own check judges it."""

    meal: MealWork
    proposal: Proposal
    changes: tuple[Change, ...]
    effect: Effect
    now_met: Mapping[Key, Met]

    @property
    def rows_now(self) -> list[SheetRow]:
        """Today's order of work."""
        return sheet_rows(self.meal.facts, self.meal.site, self.meal.day, self.meal.meal)

    @property
    def rows_then(self) -> list[SheetRow]:
        """The order proposed."""
        return changed_rows(self.meal, self.changes)


def changed_rows(meal: MealWork, changes: Sequence[Change]) -> list[SheetRow]:
    """Return the meal's order of work with the changes made."""
    rows = {row.pk: row for row in meal.facts.steps}
    was = {-number: None if change.old is None else rows[change.old] for number, change in enumerate(changes, start=1)}
    return sheet_rows(with_changes(meal, meal.facts, changes), meal.site, meal.day, meal.meal, was)


def meal_work(
    site: Site, day: date, meal: str, *, start: datetime | None = None, deadline: datetime | None = None
) -> MealWork:
    """Read the meal's work as it stands now."""
    now = timezone.now()
    facts = load(site, day, day, now)
    return MealWork(facts, site, day, meal, now.astimezone(site.zone).date(), start, deadline)


def order_of_work(meal: MealWork, seconds: float) -> OrderOfWork:
    """Search for a better order of the meal's work and judge it by the service's own check.

    Raises Unworkable as the search does. An order that the check finds no better than today's is not proposed, unless
    today's ends too late.
    """
    proposal = propose(meal.work, seconds)
    changes = changes_of(meal, proposal.plan) if not proposal.kept else ()
    before = met_by(meal.facts, meal.today, meal.day, meal.day)
    after = met_by(with_changes(meal, meal.facts, changes), meal.today, meal.day, meal.day) if changes else before
    found = effect(before, after)
    in_time = all(step.end <= meal.deadline for step in proposal.today.steps)
    if changes and in_time and len(_children(found.gone)) <= len(_children(found.new)):
        proposal, changes, found = replace(proposal, plan=proposal.today, kept=True), (), effect(before, before)
    return OrderOfWork(meal, proposal, changes, found, before)


def _children(turns: Iterable[Turn]) -> set[tuple[int, int]]:
    """Each child once for each dish."""
    return {(turn.met.serving.pk, turn.met.child.pk) for turn in turns}


def changes_of(meal: MealWork, plan: Plan) -> tuple[Change, ...]:
    """Return the rows of the plan that the order changes or adds."""
    found: list[Change] = []
    for placed in plan.steps:
        for rows, surface in zip(meal.plan_steps(placed.step), placed.surfaces, strict=True):
            found.extend(
                Change(row.pk, placed.at.time(), surface)
                for row in rows
                if (row.at, row.surface_id) != (placed.at.time(), surface)
            )
    found.extend(filter(None, (_cleaning(meal, washed) for washed in plan.cleanings)))
    return tuple(found)


def _cleaning(meal: MealWork, washed: Washed) -> Change | None:
    if washed.today is None:
        return Change(None, washed.at.time(), washed.surface, washed.method, washed.minutes)
    row = meal.plan_step_of(washed.today)
    if (row.at, row.surface_id) == (washed.at.time(), washed.surface):
        return None
    return Change(row.pk, washed.at.time(), washed.surface)


def with_changes(meal: MealWork, facts: Facts, changes: Iterable[Change]) -> Facts:
    """Return the facts as they would be had the plan been changed at the moment at which they were read."""
    wanted = list(changes)
    rows = {row.pk: row for row in facts.steps}
    written = written_rows(meal.site, meal.meal, wanted, rows, meal.surfaces)
    for number, row in enumerate(written, start=1):
        row.pk = -number  # records name the row that they stand for, so two rows must not share a number
        row.since = facts.at
    replaced = {change.old for change in wanted}
    kept = [_withdrawn(row, facts.at) if row.pk in replaced else row for row in facts.steps]
    return replace(facts, steps=[*kept, *written])


def written_rows(
    site: Site, meal: str, changes: Iterable[Change], rows: Mapping[int, PlanStep], surfaces: Mapping[int, Surface]
) -> list[PlanStep]:
    """Return the new rows, not saved yet."""
    return [
        _row(site, meal, change, surfaces[change.surface], rows[change.old] if change.old is not None else None)
        for change in changes
    ]


def _withdrawn(row: PlanStep, at: datetime) -> PlanStep:
    gone = copy(row)
    gone.withdrawn_at = at
    return gone


def _row(site: Site, meal: str, change: Change, surface: Surface, old: PlanStep | None) -> PlanStep:
    if old is None:
        added = PlanStep(site=site, meal=meal, action=Action.CLEAN, method=change.method, minutes=change.minutes)
    else:
        added = copy(old)
        added.pk, added._state.adding = None, True
    added.at, added.surface = change.at, surface
    return added
