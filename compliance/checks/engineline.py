"""A kitchen's line as the events of the engine."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone

from compliance.checks.dayline import CLOSING_WASH, Entry, Kitchen
from menus.kitchen.events import Clean, Contact, Cover, Event, How, Stay, Use
from menus.kitchen.surfaces import SurfaceFacts
from menus.models import Action, Surface
from menus.models.kitchen import USUAL_MINUTES

SHARED = frozenset({Surface.Kind.BAR, Surface.Kind.CONTAINER})
"""Where dishes stand together, and tongs, drips and spills touch them all."""

BESIDE = frozenset({Surface.Kind.TABLE, Surface.Kind.OVEN_RACK})
"""Where dishes stand open beside one another."""

STEAMS = frozenset({Surface.Kind.KETTLE, Surface.Kind.POT, Surface.Kind.FRYER, Surface.Kind.GRILL, Surface.Kind.MIXER})
"""From where steam or flour rises. It counts at sites that say so (Site.airborne)."""

JUST_BEFORE = timedelta(seconds=1)
"""What makes room for what begins at a full minute, so that the two are not at one time."""


def surface_facts(surface: Surface) -> SurfaceFacts:
    """Return the stored surface as the engine takes it."""
    dedicated = (surface.dedicated_for,) if surface.dedicated_for else ()
    return SurfaceFacts(surface.pk, surface.name, surface.material, dedicated)


def engine_events(kitchen: Kitchen, entries: Sequence[Entry]) -> Iterator[Event]:
    """Yield what the line says to the engine: every entry that counts, and the wash that ends each day's work."""
    counting = [entry for entry in entries if entry.counts]
    surfaces = {
        surface.pk: surface for entry in counting for surface in (entry.surface, entry.other_surface) if surface
    }
    for day in sorted({entry.day for entry in counting}):
        for surface in surfaces.values():
            if method := CLOSING_WASH.get(surface.material):
                yield _on_the_clock(Clean(_midnight(kitchen, day), surface.pk, method), kitchen)
    beside = [surface.pk for surface in surfaces.values() if surface.kind in BESIDE]
    for entry in counting:
        for event in _events(kitchen, entry, counting, beside):
            yield _on_the_clock(event, kitchen)


def _on_the_clock(event: Event, kitchen: Kitchen) -> Event:
    """Give the event's times as the kitchen's clock shows them, for chains tell them; in UTC they are the same."""
    if isinstance(event, Stay):
        return replace(event, at=_local(event.at, kitchen), until=_local(event.until, kitchen))
    return replace(event, at=_local(event.at, kitchen))


def _local(moment: datetime, kitchen: Kitchen) -> datetime:
    # A fixed offset: times of one zone are compared by the face of the clock, which in autumn shows an hour twice.
    here = moment.astimezone(kitchen.site.zone)
    return here.replace(tzinfo=timezone(here.utcoffset() or timedelta(0)))


def _events(kitchen: Kitchen, entry: Entry, line: Sequence[Entry], beside: Sequence[int]) -> Iterator[Event]:
    surface, serving = entry.surface, entry.serving
    match entry.action:
        case Action.CLEAN if surface:
            recorded_at = entry.event.recorded_at if entry.event else None
            yield Clean(entry.at, surface.pk, entry.method, recorded_at)
        case Action.TOUCH if surface and entry.other_surface:
            yield Contact(entry.at, surface.pk, entry.other_surface.pk)
        case Action.COVER if serving:
            yield Cover(entry.at, serving.pk)
        case Action.USE if surface and serving and surface.kind in SHARED:
            yield _together(kitchen, entry, line)
        case Action.USE if surface and serving:
            yield Use(entry.at, surface.pk, serving.pk, entry.event.recorded_at if entry.event else None)
            yield from _open_stays(kitchen, entry, beside)


def _open_stays(kitchen: Kitchen, entry: Entry, beside: Sequence[int]) -> Iterator[Stay]:
    """A dish that stands open beside others, or from which steam or flour rises to those that do."""
    surface, serving = entry.surface, entry.serving
    assert surface and serving
    until = entry.at + timedelta(minutes=entry.step.minutes if entry.step else USUAL_MINUTES) - JUST_BEFORE
    if surface.kind in BESIDE:
        yield Stay(entry.at, until, surface.pk, serving.pk, How.NEAR)
    if surface.kind in STEAMS and kitchen.site.airborne:
        for place in beside:
            yield Stay(entry.at, until, place, serving.pk, How.AIR)


def _together(kitchen: Kitchen, entry: Entry, line: Sequence[Entry]) -> Stay:
    """A dish in a self-serve bar from its opening on, or in a transport container until that is on its way."""
    surface, serving = entry.surface, entry.serving
    assert surface and serving
    of_bar = _first(line, entry, Action.OPEN, lambda each: each.step is None or each.step.meal == serving.meal)
    begins = max(entry.at, of_bar.at) if surface.kind == Surface.Kind.BAR and of_bar else entry.at
    ends = [_midnight(kitchen, entry.day + timedelta(days=1)) - JUST_BEFORE]
    if surface.kind == Surface.Kind.CONTAINER and (off := _first(line, entry, Action.TRAVEL, _from(entry.at))):
        ends.append(off.at)
    if cleaned := _first(line, entry, Action.CLEAN, _from(begins + JUST_BEFORE)):
        ends.append(cleaned.at - JUST_BEFORE)
    return Stay(begins, max(begins, min(ends)), surface.pk, serving.pk, How.TOUCH)


def _first(line: Sequence[Entry], entry: Entry, action: Action, fits: Callable[[Entry], bool]) -> Entry | None:
    """Return the first entry of that action on the same surface and day that fits."""
    return next(
        (
            each
            for each in line
            if each.action is action and each.surface == entry.surface and each.day == entry.day and fits(each)
        ),
        None,
    )


def _from(moment: datetime) -> Callable[[Entry], bool]:
    return lambda entry: entry.at >= moment


def _midnight(kitchen: Kitchen, day: date) -> datetime:
    """The moment at which that day begins in the kitchen."""
    return datetime.combine(day, time.min, kitchen.site.zone).astimezone(UTC)
