"""What a day's events tell somebody to look at, beside what they carry over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from menus.kitchen.airborne import is_airborne
from menus.kitchen.carryover import traced, with_portions
from menus.kitchen.events import Clean, Event, How, Stay, Use
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Trace
from menus.labels.concerning import concerning
from menus.labels.evidence import ANY, STANDING, Evidence
from menus.substances.catalogue import Catalogue

LATE = timedelta(minutes=15)
"""An entry made longer than this after the deed is late (our own measure, no source)."""


class Matter(StrEnum):
    """What an alert is about."""

    DEDICATED = "dedicated-broken"
    SAME_MINUTE = "cleaned-and-touched"
    UNTRAINED = "untrained-cleaning"
    LATE = "entered-late"
    AIRBORNE = "in-the-air"


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing to look at. It changes no evidence."""

    matter: Matter
    at: datetime
    surface: int
    sentence: str


def alerts(
    events: Iterable[Event],
    surfaces: Mapping[int, SurfaceFacts],
    dishes: Mapping[int, Pieces],
    names: Mapping[int, str] | None = None,
) -> tuple[Alert, ...]:
    """Return what somebody should look at, in the order of time. Raises what `carry_over` raises."""
    events = list(events)
    dishes = with_portions(events, dishes)
    teller = _Teller(surfaces, dishes, names or {})
    trace = traced(events, surfaces, dishes)
    found = [*teller.broken(trace), *map(teller.same_minute, trace.voided)]
    for event in events:
        found.extend(teller.about(event))
    return tuple(sorted(found, key=lambda alert: (alert.at, alert.matter, alert.sentence)))


class _Teller:
    """Finds and words the alerts of one day."""

    def __init__(
        self, surfaces: Mapping[int, SurfaceFacts], dishes: Mapping[int, Pieces], names: Mapping[int, str]
    ) -> None:
        self.surfaces, self.dishes, self.names = surfaces, dishes, names

    def broken(self, trace: Trace[Evidence]) -> Iterator[Alert]:
        """Equipment that is kept free of something and that something came to lie on, once for each dish."""
        told: set[tuple[int, str, int | None]] = set()
        for surface in self.surfaces.values():
            for piece, chain in trace.left_on(surface.id) if surface.dedicated_for else ():
                link = chain[-1]
                for kept_from in surface.dedicated_for:
                    if _breaks(piece, kept_from) and (surface.id, kept_from, link.dish) not in told:
                        told.add((surface.id, kept_from, link.dish))
                        yield self._broken(surface, kept_from, link.at, link.dish)

    def _broken(self, surface: SurfaceFacts, kept_from: str, at: datetime, dish: int | None) -> Alert:
        by = f"“{self._dish(dish)}”" if dish is not None else "another surface"
        return Alert(
            Matter.DEDICATED,
            at,
            surface.id,
            f"{surface.name} is reserved for food without {_said(kept_from)}, and {by} touched it, which has it or may "
            "have it. Take it out of use until whoever is in charge says how it comes back.",
        )

    def same_minute(self, event: Clean) -> Alert:
        """A cleaning of which nobody can say whether it came before or after a touch."""
        return Alert(
            Matter.SAME_MINUTE,
            event.at,
            event.surface,
            f"{self._surface(event)} was cleaned and touched at one minute, so the cleaning does not count. "
            "Ask which came first, and correct the times.",
        )

    def about(self, event: Event) -> Iterator[Alert]:
        """What one event by itself gives to look at."""
        match event:
            case Stay(how=How.AIR):
                yield from self._in_the_air(event)
            case Clean(trained=False):
                yield self._of(
                    Matter.UNTRAINED,
                    event,
                    "was cleaned by somebody without a training on record. The cleaning counts; see to the training.",
                )
        if isinstance(event, Use | Clean) and event.recorded_at is not None and event.recorded_at - event.at > LATE:
            entered = f"{event.recorded_at:%H:%M}"
            yield self._of(Matter.LATE, event, f"has an entry made only at {entered}. It counts for when it was done.")

    def _in_the_air(self, event: Stay) -> Iterator[Alert]:
        held = self.dishes.get(event.dish, ())
        flying = {piece.substance for piece in held if piece.kind not in STANDING and is_airborne(piece.substance)}
        if flying:
            until, what = f"{event.until:%H:%M}", ", ".join(sorted(map(_said, flying)))
            words = f"has steam or flour in the air until {until}: {what}. Keep away whom a care plan keeps from it."
            yield self._of(Matter.AIRBORNE, event, words)

    def _of(self, matter: Matter, event: Use | Clean | Stay, words: str) -> Alert:
        return Alert(matter, event.at, event.surface, f"{self._surface(event)} {words}")

    def _surface(self, event: Use | Clean | Stay) -> str:
        return self.surfaces[event.surface].name

    def _dish(self, dish: int) -> str:
        return self.names.get(dish) or next((piece.path[0].name for piece in self.dishes[dish] if piece.path), "a dish")


def _breaks(piece: Evidence, kept_from: str) -> bool:
    """What may only derive from it, or is refined from it, is a question for a child and not for equipment."""
    return piece.kind not in STANDING and bool(concerning(kept_from, [piece], Catalogue.load()))


def _said(substance: str) -> str:
    return "something unknown" if substance == ANY else Catalogue.load().get(substance).name
