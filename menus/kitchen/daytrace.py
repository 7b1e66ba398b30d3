"""Answer a day that is written down in JSON: what each dish holds, and what may have come to it, by which way."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from menus.kitchen.dayevents import UNKNOWN_TIME, read_events
from menus.kitchen.dayfile import DayFile
from menus.kitchen.daythings import read_dishes, read_surfaces
from menus.kitchen.events import Event
from menus.kitchen.residue import follow
from menus.kitchen.trace import Link, Trace


def trace_day(day: object) -> dict[str, Any]:
    """Return `{"dishes": {id: {"present", "possible"}}, "errors"}` for a day, as docs/reference/trace_day.md says.

    Whatever is given, this answers and never raises; what is wrong stands in the errors and clears nothing.
    """
    file = DayFile()
    if not isinstance(day, dict):
        return {"dishes": {}, "errors": ["The day is not an object, so nothing was read. Write { “surfaces”: … }."]}
    read_surfaces(file, day.get("surfaces"))
    read_dishes(file, day.get("dishes"))
    events = read_events(file, day.get("events"))
    trace = _trace(file, events)
    answers = {str(file.dishes[number].name): _answer(file, trace, number) for number in file.listed}
    notes = _notes(file, trace, events)
    return {"dishes": answers, "errors": file.errors, **({"notes": notes} if notes else {})}


def _trace(file: DayFile, events: Iterable[Event]) -> Trace[str]:
    return follow(events, file.surfaces, {number: dish.present | dish.possible for number, dish in file.dishes.items()})


def _answer(file: DayFile, trace: Trace[str], number: int) -> dict[str, Any]:
    dish = file.dishes[number]
    ways: dict[str, list[dict[str, Any]]] = {code: [] for code in dish.possible - dish.present}
    for code, how in trace.arrived(number):
        ways[code] = [_told(file, link) for link in trace.chain(number, code, how)]
    return {
        "present": sorted(dish.present),
        "possible": [{"substance": code, "chain": ways[code]} for code in sorted(ways)],
    }


def _told(file: DayFile, link: Link) -> dict[str, Any]:
    return {
        "at": None if link.at == UNKNOWN_TIME else f"{link.at:%H:%M}",
        "surface": file.surfaces[link.surface].name,
        "from": None if link.dish is None else file.dishes[link.dish].name,
    }


def _notes(file: DayFile, trace: Trace[str], events: list[Event]) -> list[str]:
    """What would come over besides if a dish touched the surface that its serving names: a serving is no touch."""
    if not file.served_from:
        return []
    touching = _trace(file, [*events, *file.served_from])
    besides = {number: _codes(touching, number) - _codes(trace, number) for number in file.listed}
    return [
        f"“{file.dishes[number].name}” would have {', '.join(sorted(codes))} as possible too if what is served touched "
        "the surface that its “serve” names. A “serve” is no touch: add a “use” where there was one."
        for number, codes in besides.items()
        if codes
    ]


def _codes(trace: Trace[str], number: int) -> set[str]:
    return {code for code, _ in trace.arrived(number)}
