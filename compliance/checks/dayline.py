"""Plan and record of one kitchen as one line of what counts.

- A record that names a step of the plan stands in its place on that day; one that names none stands beside the plan.
- A planned use that nobody recorded counts as done when it was planned, for it may have left something behind. So does
  every other step that can only bring something to a dish.
- A planned cleaning or cover that nobody recorded did not happen, once its day is over. On the day itself it still
  counts until the next use of that surface is due, for until then it can be done in time. Ahead, it counts as planned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cached_property

from menus.kitchen.cleaning import removes
from menus.models import Action, KitchenEvent, PlanStep, Serving, Site, Surface

CLOSING_WASH: dict[str, str] = {
    Surface.Material.NON_POROUS: "wash_rinse_sanitize",
    Surface.Material.HANDS: "soap_water_hands",
}
"""What ends a kitchen's day (common practice, no source). Oil, porous and unwashable ware go on as they are."""

PROTECTS = frozenset({Action.CLEAN, Action.COVER})
"""What keeps something from a dish, and so counts only with a record."""


class State(StrEnum):
    """What stands behind an entry."""

    RECORDED = "recorded"
    PLANNED = "planned"  # lies ahead
    ASSUMED = "assumed"  # planned, past, not recorded: it counts, because it may have done harm
    DUE = "due"  # planned, past, not recorded: it counts, because it can still be done in time
    NOT_DONE = "not-done"  # planned, past, not recorded: it did not happen

    @property
    def words(self) -> str:
        """The state as pages say it."""
        return {
            State.RECORDED: "on record",
            State.PLANNED: "counts as planned",
            State.ASSUMED: "not recorded, counts as done",
            State.DUE: "not recorded yet, counts until this is next due for another dish",
            State.NOT_DONE: "not recorded, counts as not done",
        }[self]


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing done, to be done, or not done in a kitchen."""

    at: datetime  # UTC
    day: date  # of the kitchen
    action: Action
    surface: Surface | None
    state: State
    serving: Serving | None = None
    other_surface: Surface | None = None
    method: str = ""
    step: PlanStep | None = None
    event: KitchenEvent | None = None

    @property
    def counts(self) -> bool:
        """Whether it happened, or is taken to happen."""
        return self.state is not State.NOT_DONE

    @property
    def ends_residue(self) -> bool:
        """Whether it is a cleaning that counts and takes allergens off that material."""
        if self.action is not Action.CLEAN or not self.counts or self.surface is None:
            return False
        return removes(self.method, self.surface.material)

    @property
    def key(self) -> str:
        """What tells it from the others of its day."""
        if self.event:
            return f"event-{self.event.pk}"
        return f"step-{self.step.pk if self.step else 0}-{self.serving.pk if self.serving else 0}"

    @property
    def surfaces(self) -> tuple[Surface, ...]:
        """The equipment that it is about."""
        return tuple(surface for surface in (self.surface, self.other_surface) if surface)


BatchKey = tuple[date, str, int]


def batch_key(serving: Serving) -> BatchKey:
    """Return what servings of several sites share when one kitchen cooks them together."""
    return serving.date, serving.meal, serving.recipe_id


@dataclass(frozen=True)
class Kitchen:
    """What one kitchen cooks, one serving for each batch, with its plan and the records that stand."""

    site: Site
    servings: Sequence[Serving]
    steps: Sequence[PlanStep]
    events: Sequence[KitchenEvent]

    @cached_property
    def batches(self) -> Mapping[BatchKey, Serving]:
        """The serving that stands for each batch."""
        return {batch_key(serving): serving for serving in self.servings}

    def day_of(self, moment: datetime) -> date:
        """Return the kitchen's day at that moment."""
        return moment.astimezone(self.site.zone).date()


def line(kitchen: Kitchen, now: datetime) -> list[Entry]:
    """Return what happened and what is planned in the kitchen, in order, as it stands at that moment."""
    replaced = {(event.step_id, kitchen.day_of(event.happened_at)) for event in kitchen.events}
    planned = [entry for entry in _planned(kitchen, now) if entry.step and (entry.step.pk, entry.day) not in replaced]
    there = _of_consequence([*_recorded(kitchen), *planned])
    entries = sorted(_in_doubt_together(there), key=lambda entry: entry.at)
    uses = _uses(entries)
    today = kitchen.day_of(now)
    return [
        replace(entry, state=_state(entry, uses, now, today)) if entry.event is None else entry for entry in entries
    ]


def _recorded(kitchen: Kitchen) -> Iterator[Entry]:
    for event in kitchen.events:
        if event.kind in Action.values:
            yield Entry(
                at=event.happened_at,
                day=kitchen.day_of(event.happened_at),
                action=Action(event.kind),
                surface=event.surface,
                state=State.RECORDED,
                # A dish that was recorded without being on the plan here stands for itself.
                serving=event.serving and kitchen.batches.get(batch_key(event.serving), event.serving),
                other_surface=event.other_surface,
                method=event.method,
                step=event.step,
                event=event,
            )


def _planned(kitchen: Kitchen, now: datetime) -> Iterator[Entry]:
    """Yield the steps of the plan on each day and meal for which the kitchen cooks, as far as is known now."""
    dishes: dict[tuple[date, str], dict[int, list[Serving]]] = {}
    for serving in kitchen.servings:
        dishes.setdefault((serving.date, serving.meal), {}).setdefault(serving.recipe_id, []).append(serving)
    steps: dict[str, list[PlanStep]] = {}
    for step in kitchen.steps:
        steps.setdefault(step.meal, []).append(step)
    for (day, meal), of_meal in dishes.items():
        for step in steps.get(meal, ()):
            # A step that names no dish is about the equipment alone.
            named = [None] if step.recipe_id is None else of_meal.get(step.recipe_id, ())
            at = datetime.combine(day, step.at, kitchen.site.zone).astimezone(UTC)
            if named and step.is_plan_at(at, now):
                yield from (_entry(step, at, day, dish) for dish in named)


def _entry(step: PlanStep, at: datetime, day: date, serving: Serving | None) -> Entry:
    return Entry(
        at=at,
        day=day,
        action=Action(step.action),
        surface=step.surface,
        state=State.PLANNED,
        serving=serving,
        other_surface=step.other_surface,
        method=step.method,
        step=step,
    )


def _of_consequence(entries: Sequence[Entry]) -> list[Entry]:
    """Leave out what is planned for equipment that no dish meets that day and that is washed when a day ends."""
    met = {(entry.day, surface.pk) for entry in entries if entry.serving for surface in entry.surfaces}

    def matters(entry: Entry, surface: Surface) -> bool:
        return (entry.day, surface.pk) in met or surface.material not in CLOSING_WASH

    return [entry for entry in entries if entry.event or any(matters(entry, each) for each in entry.surfaces)]


def _in_doubt_together(entries: Sequence[Entry]) -> list[Entry]:
    """Put at one time what nobody can put in order: a plan and a typed time know the minute, a tap the second."""
    minutes = {(surface.pk, entry.at) for entry in entries for surface in entry.surfaces if entry.at == _minute(entry)}
    return [
        replace(entry, at=_minute(entry))
        if any((surface.pk, _minute(entry)) in minutes for surface in entry.surfaces)
        else entry
        for entry in entries
    ]


def _minute(entry: Entry) -> datetime:
    return entry.at.replace(second=0, microsecond=0)


def _uses(entries: Iterable[Entry]) -> dict[int, list[Entry]]:
    uses: dict[int, list[Entry]] = {}
    for entry in entries:
        if entry.action not in PROTECTS:
            for surface in entry.surfaces:
                uses.setdefault(surface.pk, []).append(entry)
    return uses


def _state(entry: Entry, uses: Mapping[int, list[Entry]], now: datetime, today: date) -> State:
    if entry.at > now:
        return State.PLANNED
    if entry.action not in PROTECTS:
        return State.ASSUMED
    if entry.day < today or _too_late(entry, uses, now):
        return State.NOT_DONE
    return State.DUE


def _too_late(entry: Entry, uses: Mapping[int, list[Entry]], now: datetime) -> bool:
    """Tell whether the surface was due for another use since."""
    met = uses.get(entry.surface.pk, []) if entry.surface else []
    return any(entry.at <= use.at <= now and (use.serving is None or use.serving != entry.serving) for use in met)
