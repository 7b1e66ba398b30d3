"""Carry-over in the kitchen against a table of cases, each with its basis.

The cases (XC ids) are told as a day's order of work: who touches what when, what is cleaned how, what stands where.
`carried` means that the substance came over by touch, `air` through the air, `review` that somebody has to look, `own`
that it is the dish's own, `warned` that its label warns of it, `clear` that nothing of it is there. Each case also
names the alerts that it raises, and raises no other.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import permutations

import pytest

from menus.kitchen.alerts import alerts
from menus.kitchen.carryover import carry_over
from menus.kitchen.cleaning import methods
from menus.kitchen.events import Clean, Contact, Cover, Event, How, Reserve, Stay, Use
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.labels.concerning import concerning
from menus.labels.evidence import Evidence, Kind, Step
from menus.substances.catalogue import Catalogue
from tests.external.published import published

Case = dict[str, str]

CASES: list[Case] = published("cross_contact.csv")
IDS = [f"{case['id']}-{case['dish']}-{case['substance']}" for case in CASES]
GRAVEST_LAST = {None: "clear", Kind.NEARBY: "review", Kind.AIRBORNE: "air", Kind.CARRY_OVER: "carried"} | {
    Kind.MAY_CONTAIN: "warned",
    Kind.NAMED: "own",
}
STAYS = {"in": How.TOUCH, "near": How.NEAR, "steams": How.AIR}
EVENT = re.compile(
    r"(?P<at>[-+\d:T]+(?: \d\d:\d\d)?) (?P<what>[\w-]+) (?P<how>[a-z]+) ?(?P<which>[\w-]*) ?(?P<more>.*)"
)


def surfaces_of(case: Case) -> dict[str, SurfaceFacts]:
    described = [part.split() for part in case["surfaces"].split(";")]
    return {
        name: SurfaceFacts(number, name, material, tuple(dedicated))
        for number, (name, material, *dedicated) in enumerate(described)
    }


def dishes_of(case: Case) -> dict[str, tuple[int, Pieces]]:
    pairs = [part.strip().split("=") for part in case["dishes"].split(";")]
    return {
        name: (number, tuple(piece_of(name, code) for code in codes.split()))
        for number, (name, codes) in enumerate(pairs, start=100)
    }


def piece_of(dish: str, code: str) -> Evidence:
    kind = Kind.MAY_CONTAIN if code.startswith("~") else Kind.NAMED
    return Evidence(code.removeprefix("~"), kind, path=(Step("recipe", dish, dish),))


def clock(text: str) -> datetime:
    """A time of the day, of the next day (+1), or a whole moment with its offset."""
    if "T" in text:
        return datetime.fromisoformat(text)
    days, _, time = text.rpartition(" ")
    return datetime.fromisoformat(f"2026-11-25T{time}") + timedelta(days=int(days or 0))


def events_of(case: Case) -> list[Event]:
    return [event_of(text.strip(), case) for text in case["events"].split(";")]


def event_of(text: str, case: Case) -> Event:
    found = EVENT.fullmatch(text)
    assert found, text
    surfaces, dishes = surfaces_of(case), dishes_of(case)
    what, how, which, more = found["what"], found["how"], found["which"], found["more"]
    if how in STAYS:
        begins, ends = found["at"].split("-")
        return Stay(clock(begins), clock(ends), surfaces[which].id, dishes[what][0], STAYS[how])
    at = clock(found["at"])
    match how:
        case "on":
            return Use(at, surfaces[which].id, dishes[what][0])
        case "touches":
            return Contact(at, surfaces[what].id, surfaces[which].id)
        case "of":
            return Reserve(at, dishes[which][0], dishes[what][0])
        case "covered":
            return Cover(at, dishes[what][0])
        case "by":
            entered = clock(more.removeprefix("entered ")) if more.startswith("entered") else None
            return Clean(at, surfaces[what].id, which, entered, trained=more != "untrained")
    raise AssertionError(text)


def outcome(case: Case, events: Iterable[Event]) -> str:
    dishes = dishes_of(case)
    result = carry_over(events, {surface.id: surface for surface in surfaces_of(case).values()}, dict(dishes.values()))
    pieces = concerning(case["substance"], result[dishes[case["dish"]][0]], Catalogue.load())
    kinds = {None, *(piece.kind for piece in pieces)}
    return [word for kind, word in GRAVEST_LAST.items() if kind in kinds][-1]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_case(case: Case) -> None:
    """Each case of the table comes out as the table says, by its basis."""
    assert outcome(case, events_of(case)) == case["expected"], f"{case['basis']}. {case['note']}"


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_alerts(case: Case) -> None:
    """Each case raises the alerts that the table names, and no other."""
    surfaces = {surface.id: surface for surface in surfaces_of(case).values()}
    raised = alerts(events_of(case), surfaces, dict(dishes_of(case).values()))
    assert [alert.matter.value for alert in raised] == case["alerts"].split()


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_order_of_writing_does_not_count(case: Case) -> None:
    """Events may be told in any order: only their times count."""
    for order in list(permutations(events_of(case)))[:24]:
        assert outcome(case, order) == case["expected"]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_leaving_out_the_cleaning_is_never_milder(case: Case) -> None:
    """Without its cleanings no case comes out clearer than with them."""
    others = [event for event in events_of(case) if not isinstance(event, Clean)]
    order = list(GRAVEST_LAST.values())
    assert order.index(outcome(case, others)) >= order.index(case["expected"])


def test_the_cases_are_whole() -> None:
    """All 36 are there, and none names a method that nobody knows: it would prove nothing."""
    used = {event.method for case in CASES for event in events_of(case) if isinstance(event, Clean)}
    assert used <= set(methods())
    assert {case["id"] for case in CASES} == {f"XC{number:02}" for number in range(1, 37)}
