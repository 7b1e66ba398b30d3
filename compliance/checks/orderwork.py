"""What there is to do for one meal in one kitchen, from stored facts: what the search for an order of work reads."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property

from compliance.checks.dayline import Entry
from compliance.checks.engineline import SHARED, engine_events
from compliance.checks.orderequipment import others_like, station
from compliance.checks.orderline import MealLine, StepKey
from compliance.checks.orderstakes import stakes
from compliance.checks.prepare import Work as Made
from compliance.checks.prepare import work as made_of
from menus.kitchen.events import Clean, Event, How, Stay, Use
from menus.models import Action
from menus.planning.work import CleaningAt, Need, Station, Work, WorkStep


@dataclass(frozen=True)
class MealWork(MealLine):
    """The same with all that stands round it, between two times, as values for the search."""

    asked_start: datetime | None = None
    asked_deadline: datetime | None = None

    @cached_property
    def made(self) -> Made:
        """The work of all kitchens as the check hands it to the engine."""
        return made_of(self.facts, self.today)

    @cached_property
    def start(self) -> datetime:
        """When the work may begin: as asked, or as today; never in the past."""
        planned = min((at for _, at in self.steps), default=self.facts.at)
        first = self.clock(self.asked_start or planned)
        now = self.clock(self.facts.at).replace(second=0, microsecond=0) + timedelta(minutes=1)
        return max(first, now) if self.day == self.today else first

    @cached_property
    def deadline(self) -> datetime:
        """When the last step must have ended: as asked, or as today."""
        ends = [key[1] + timedelta(minutes=self.minutes(key)) for key in self.steps]
        return self.clock(self.asked_deadline) if self.asked_deadline else max(ends, default=self.start)

    @cached_property
    def work(self) -> Work:
        """The same as values."""
        bare = Work(
            start=self.start,
            deadline=self.deadline,
            stations=self._stations(),
            dishes=self.made.dishes,
            steps=(*self._work_steps(), *self._fixed_steps()),
            stakes=(),
            before=tuple(event for event in self._rest if event.at < self.start),
            cleanings=tuple(self._fixed_cleanings()),
            others=tuple(event for event in self._rest if event.at >= self.start and not self._here(event)),
            due=self._due(),
        )
        return replace(bare, stakes=stakes(self.facts, self.kitchen, self.day, bare))

    def _work_steps(self) -> Iterable[WorkStep]:
        for number, key in enumerate(self.numbered):
            needs = tuple(self._need(entries, key[1]) for entries in self.needs(key))
            yield WorkStep(number, key[0], key[1], self.minutes(key), needs)

    def _need(self, entries: list[Entry], at: datetime) -> Need:
        surface = entries[0].surface
        assert surface
        cleaned = self.cleanings.get((surface.pk, at), ())
        others = others_like(surface, self.surfaces.values())
        return Need((surface.pk, *others), tuple(map(self.cleaning_at, cleaned)))

    def _stations(self) -> dict[int, Station]:
        """This kitchen's equipment, and that of the others, where nothing of this work is done."""
        elsewhere = {pk: Station(facts) for pk, facts in self.made.surfaces.items()}
        return elsewhere | {pk: station(each, self.kitchen.steps) for pk, each in self.surfaces.items()}

    @cached_property
    def _standing(self) -> list[Entry]:
        """What stays where it is from the start on."""
        attached = {entry.key for entries in self.cleanings.values() for entry in entries}
        return [
            entry
            for entry in self.entries
            if self.clock(entry.at) >= self.start and entry.key not in attached and not self.may_move(entry)
        ]

    def _fixed_steps(self) -> Iterable[WorkStep]:
        """Uses of other meals, one step for what a dish does at one time."""
        together: dict[StepKey, list[Entry]] = {}
        for entry in self._standing:
            if entry.action is Action.USE and entry.serving and entry.surface and entry.surface.kind not in SHARED:
                together.setdefault((entry.serving.pk, self.clock(entry.at)), []).append(entry)
        for number, ((dish, at), entries) in enumerate(together.items(), start=len(self.steps)):
            needs = {entry.surface.pk: Need((entry.surface.pk,)) for entry in entries if entry.surface}
            minutes = max((entry.step.minutes for entry in entries if entry.step), default=1)
            yield WorkStep(number, dish, at, minutes, tuple(needs.values()), fixed=True)

    def _fixed_cleanings(self) -> Iterable[CleaningAt]:
        return (self.cleaning_at(entry) for entry in self._standing if entry.action is Action.CLEAN and entry.surface)

    @cached_property
    def _rest(self) -> list[Event]:
        """The engine's events of all kitchens without those of the steps and cleanings that may move."""
        moving = {
            (at, entry.surface.pk, dish)
            for (dish, at), entries in self.steps.items()
            for entry in entries
            if entry.surface
        }
        open_there = {(at, dish) for at, _, dish in moving}
        cleaned = {
            (self.clock(entry.at), entry.surface.pk, entry.method)
            for entries in self.cleanings.values()
            for entry in entries
            if entry.surface
        }

        def moves(event: Event) -> bool:
            match event:
                case Use():
                    return (event.at, event.surface, event.dish) in moving
                case Clean():
                    return (event.at, event.surface, event.method) in cleaned
                case Stay():
                    return event.how is not How.TOUCH and (event.at, event.dish) in open_there
            return False

        return [
            event
            for kitchen in self.facts.kitchens
            for event in engine_events(kitchen, self.facts.lines[kitchen.site.pk])
            if not moves(event)
        ]

    def _here(self, event: Event) -> bool:
        """Whether the work holds the event as a step or a cleaning of its own."""
        return isinstance(event, Use | Clean) and event.surface in self.surfaces

    def _due(self) -> dict[int, datetime]:
        """When a dish must be ready: when it is covered, goes on the bar or into its transport container."""
        due: dict[int, datetime] = {}
        for entry in self._standing:
            apart = entry.action is Action.COVER or (entry.surface is not None and entry.surface.kind in SHARED)
            if apart and entry.serving and self._ready_by(entry):
                due[entry.serving.pk] = min(self.clock(entry.at), due.get(entry.serving.pk, self.deadline))
        return due

    def _ready_by(self, entry: Entry) -> bool:
        """Whether all the dish's steps have ended by then today."""
        return all(
            at + timedelta(minutes=self.minutes((dish, at))) <= self.clock(entry.at)
            for dish, at in self.steps
            if entry.serving and dish == entry.serving.pk
        )
