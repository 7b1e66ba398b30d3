"""One meal of one kitchen on one day, on the kitchen's line: which steps and cleanings may move."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone
from functools import cached_property

from compliance.checks.dayline import Entry, Kitchen, State
from compliance.checks.engineline import SHARED
from compliance.checks.facts import Facts
from menus.models import Action, PlanStep, Site, Surface
from menus.models.kitchen import USUAL_MINUTES
from menus.planning.work import Cleaning, CleaningAt

StepKey = tuple[int, datetime]
"""A dish, by the serving that stands for its batch, and a time: what it needs at one minute is one step."""


@dataclass(frozen=True)
class MealLine:
    """The planned steps of a meal that may move, and the cleanings that go with them.

    Those are the plan's uses that lie ahead and that nobody has recorded. What stands in a self-serve bar or travels in
    a container stays as it is planned.
    """

    facts: Facts
    site: Site
    day: date
    meal: str
    today: date  # of the check, by which labels are judged

    @cached_property
    def kitchen(self) -> Kitchen:
        """The site's own kitchen."""
        return next(each for each in self.facts.kitchens if each.site.pk == self.site.pk)

    @cached_property
    def surfaces(self) -> dict[int, Surface]:
        """The kitchen's equipment."""
        return {surface.pk: surface for surface in Surface.objects.filter(site=self.site)}

    @cached_property
    def entries(self) -> list[Entry]:
        """All that counts on the kitchen's line, of every day read."""
        return [entry for entry in self.facts.lines[self.site.pk] if entry.counts]

    @cached_property
    def steps(self) -> dict[StepKey, list[Entry]]:
        """The uses that may move, by dish and time: what a dish needs at one minute is one step."""
        found: dict[StepKey, list[Entry]] = {}
        for entry in self._planned(Action.USE):
            if entry.serving and entry.surface and entry.surface.kind not in SHARED:
                found.setdefault((entry.serving.pk, self.clock(entry.at)), []).append(entry)
        return found

    @cached_property
    def cleanings(self) -> dict[tuple[int, datetime], tuple[Entry, ...]]:
        """The meal's cleanings between two uses of which the first may move, by surface and by the time of that use.

        They go where that use goes. A cleaning after the last use of the day stays at the end of the day.
        """
        found: dict[tuple[int, datetime], tuple[Entry, ...]] = {}
        for entry in self._planned(Action.CLEAN):
            uses = self._uses(entry.surface)
            last = max((each for each in uses if each.at < entry.at), key=lambda each: each.at, default=None)
            if entry.surface and last and self.may_move(last) and any(each.at > entry.at for each in uses):
                key = (entry.surface.pk, self.clock(last.at))
                found[key] = (*found.get(key, ()), entry)
        return found

    @cached_property
    def numbered(self) -> list[StepKey]:
        """The steps in the order of today; their places in it are their numbers."""
        return sorted(self.steps, key=lambda key: (key[1], key[0]))

    def plan_steps(self, step: int) -> list[list[PlanStep]]:
        """Return the rows of the plan behind each need of a step, by the step's number."""
        return [[entry.step for entry in entries if entry.step] for entries in self.needs(self.numbered[step])]

    def plan_step_of(self, cleaning: CleaningAt) -> PlanStep:
        """Return the row of the plan behind a cleaning that today's order holds."""
        return next(
            entry.step
            for entries in self.cleanings.values()
            for entry in entries
            if entry.step and entry.surface and self.cleaning_at(entry) == cleaning
        )

    def clock(self, moment: datetime) -> datetime:
        """Return the moment with the kitchen's offset, so that its times add up and compare as in UTC."""
        here = moment.astimezone(self.site.zone)
        return here.replace(tzinfo=timezone(here.utcoffset() or timedelta(0)))

    def _planned(self, action: Action) -> Iterable[Entry]:
        """The meal's entries of that action that lie ahead."""
        return (
            entry
            for entry in self.entries
            if entry.action is action and entry.day == self.day and entry.state is State.PLANNED
            if entry.step and entry.step.meal == self.meal
        )

    def may_move(self, entry: Entry) -> bool:
        """Tell whether the entry belongs to one of the steps."""
        return entry.serving is not None and entry in self.steps.get((entry.serving.pk, self.clock(entry.at)), ())

    def _uses(self, surface: Surface | None) -> list[Entry]:
        return [
            each
            for each in self.entries
            if each.action is Action.USE and each.surface == surface and each.day == self.day
        ]

    def needs(self, key: StepKey) -> list[list[Entry]]:
        """Return what the step works on, one surface each."""
        by_surface: dict[int, list[Entry]] = {}
        for entry in self.steps[key]:
            assert entry.surface
            by_surface.setdefault(entry.surface.pk, []).append(entry)
        return list(by_surface.values())

    def minutes(self, key: StepKey) -> int:
        """Return how long it takes: as planned, but no longer than until dish or equipment is due elsewhere today."""
        dish, at = key
        planned = max(entry.step.minutes for entry in self.steps[key] if entry.step)
        places = {entry.surface for entry in self.steps[key]}
        later = [
            self.clock(each.at)
            for each in self.entries
            if each.day == self.day and each.action in (Action.USE, Action.CLEAN) and self.clock(each.at) > at
            if each.surface in places or (each.serving and each.serving.pk == dish)
        ]
        return max(1, min([planned, *((moment - at) // timedelta(minutes=1) for moment in later)]))

    def cleaning_at(self, entry: Entry) -> CleaningAt:
        """Return a cleaning of the line as a value."""
        assert entry.surface
        minutes = entry.step.minutes if entry.step else USUAL_MINUTES
        return CleaningAt(self.clock(entry.at), entry.surface.pk, Cleaning(entry.method, minutes))
