"""How fast a day is followed, beside following one residue at a time, and how that grows with the day."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from time import process_time

from menus.kitchen.cleaning import removes
from menus.kitchen.events import Clean, Contact, Event, Use
from menus.kitchen.residue import follow
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Trace
from menus.substances.catalogue import Catalogue

METHODS = ("wash_rinse_sanitize", "soap_water_hands", "oil_change_and_vat_wash", "dry_wipe")
MATERIALS = ("non_porous", "non_porous", "hands", "fryer_oil", "porous")
MIDNIGHT = datetime(2026, 11, 25, tzinfo=UTC)
TOLD = 100
"""Of so many dishes at most every chain is told: telling is paid for by what is asked, not by the day."""


@dataclass(frozen=True, slots=True)
class Made:
    """A day of events that was dealt out."""

    events: tuple[Event, ...]
    surfaces: Mapping[int, SurfaceFacts]
    dishes: Mapping[int, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds of this processor for a day of so many events."""

    events: int
    followed: float
    plainly: float  # one residue at a time
    chains: int
    told: float  # for those chains


def made_day(count: int) -> Made:
    """A day of `count` events, the same on every run: a dish for ten events, six substances each, few cleanings."""
    deal = random.Random(count)
    substances = sorted(Catalogue.load().substances)
    surfaces = {
        number: SurfaceFacts(number, f"surface {number}", MATERIALS[number % len(MATERIALS)])
        for number in range(5 + count // 500)
    }
    dishes = {number: frozenset(deal.sample(substances, 6)) for number in range(3 + count // 10)}
    step = timedelta(days=1) / count
    return Made(
        tuple(_dealt(deal, MIDNIGHT + number * step, len(surfaces), dishes) for number in range(count)),
        surfaces,
        dishes,
    )


def timings(counts: Iterable[int]) -> Iterator[Timing]:
    """Time a day of each size. Raises AssertionError when the two ways do not find the same."""
    for count in counts:
        day = made_day(count)
        begun = process_time()
        trace = follow(day.events, day.surfaces, day.dishes)
        followed = process_time() - begun
        begun = process_time()
        found = one_at_a_time(day)
        plainly = process_time() - begun
        assert found == {dish: {thing for thing, _ in trace.arrived(dish)} for dish in day.dishes}
        begun = process_time()
        chains = _tell(trace, day)
        yield Timing(count, followed, plainly, chains, process_time() - begun)


def one_at_a_time(day: Made) -> dict[int, set[str]]:
    """Return what came to each dish, found by going through the day once for every substance.

    For a day on which no two events fall together: it does not know that their order would be open.
    """
    arrived: dict[int, set[str]] = {dish: set() for dish in day.dishes}
    for substance in frozenset[str]().union(*day.dishes.values()):
        held = {dish: substance in things for dish, things in day.dishes.items()}
        lies: dict[int, bool] = dict.fromkeys(day.surfaces, False)
        for event in day.events:
            match event:
                case Use():
                    held[event.dish] = lies[event.surface] = held[event.dish] or lies[event.surface]
                case Contact():
                    lies[event.surface] = lies[event.other] = lies[event.surface] or lies[event.other]
                case Clean() if removes(event.method, day.surfaces[event.surface].material):
                    lies[event.surface] = False
        for dish, things in day.dishes.items():
            if held[dish] and substance not in things:
                arrived[dish].add(substance)
    return arrived


def _dealt(deal: random.Random, at: datetime, surfaces: int, dishes: Mapping[int, frozenset[str]]) -> Event:
    surface, lot = deal.randrange(surfaces), deal.random()
    if lot < 0.8:
        return Use(at, surface, deal.randrange(len(dishes)))
    return Clean(at, surface, deal.choice(METHODS)) if lot < 0.95 else Contact(at, surface, deal.randrange(surfaces))


def _tell(trace: Trace[str], day: Made) -> int:
    return sum(len(things) for dish in list(day.dishes)[:TOLD] for _, _, things in trace.ways(dish))
