"""Small kitchens to plan, in few words: minutes after seven, dishes by number, what they hold by code."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from menus.kitchen.events import Event
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.labels.evidence import Evidence, Kind
from menus.labels.evidence import Step as Link
from menus.planning.work import Cleaning, CleaningAt, Need, Stake, Station, Work, WorkStep

SEVEN = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
WASH = Cleaning("wash_rinse_sanitize", 10)


def at(minute: int) -> datetime:
    """That many minutes after seven."""
    return SEVEN + timedelta(minutes=minute)


def steel(number: int, *, cleaning: Cleaning | None = WASH, capacity: int = 1) -> Station:
    """Something of steel, which a wash makes clean."""
    return Station(SurfaceFacts(number, f"Steel {number}", "non_porous"), capacity, cleaning)


def wood(number: int) -> Station:
    """A wooden board, which nothing makes clean."""
    return Station(SurfaceFacts(number, f"Wood {number}", "porous"))


def oil(number: int) -> Station:
    """A fryer with its oil, which is not changed between two dishes."""
    return Station(SurfaceFacts(number, f"Fryer {number}", "fryer_oil"))


def dish(number: int, *substances: str) -> Pieces:
    """What a dish holds."""
    origin = (Link("recipe", str(number), f"Dish {number}"),)
    return tuple(Evidence(substance, Kind.NAMED, path=origin) for substance in substances)


def step(
    number: int,
    of: int,
    minute: int,
    *surfaces: int | tuple[int, ...],
    minutes: int = 10,
    after: tuple[int, ...] = (),
    cleaned: Mapping[int, str] | None = None,
    fixed: bool = False,
) -> WorkStep:
    """One step of a dish; `cleaned` names the method that follows it today on a surface, by the surface."""
    needs = tuple(
        Need(
            (each,) if isinstance(each, int) else each,
            tuple(
                CleaningAt(at(minute + minutes), surface, Cleaning(method, 5))
                for surface, method in (cleaned or {}).items()
                if surface == (each if isinstance(each, int) else each[0])
            ),
        )
        for each in surfaces
    )
    return WorkStep(number, of, at(minute), minutes, needs, after, fixed)


def stake(of: int, *substances: str, children: int = 1) -> Stake:
    """So many children would no longer get the dish if any of these were carried over to it."""
    return Stake(of, frozenset((substance,) for substance in substances), children)


def work(
    stations: list[Station],
    dishes: Mapping[int, Pieces],
    steps: list[WorkStep],
    stakes: list[Stake],
    *,
    until: int = 120,
    before: tuple[Event, ...] = (),
    cleanings: tuple[CleaningAt, ...] = (),
    others: tuple[Event, ...] = (),
    due: Mapping[int, datetime] | None = None,
) -> Work:
    """A morning that begins at seven."""
    return Work(
        start=SEVEN,
        deadline=at(until),
        stations={station.facts.id: station for station in stations},
        dishes=dishes,
        steps=tuple(steps),
        stakes=tuple(stakes),
        before=before,
        cleanings=cleanings,
        others=others,
        due=due or {},
    )
