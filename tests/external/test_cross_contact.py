"""Carry-over in the kitchen against a table of cases, each with its basis.

The cases (XC ids) are told as a day's order of work: who touches what when, and what is cleaned how. `carried` means
that the substance came over as possible presence, `own` that it is the dish's own, `clear` that nothing of it is there.
"""

from __future__ import annotations

import csv
import re
from datetime import datetime
from itertools import permutations
from pathlib import Path

import pytest

from menus.kitchen.carryover import Clean, SurfaceFacts, Use, carry_over
from menus.kitchen.cleaning import methods
from menus.kitchen.recipes import Pieces
from menus.labels.concerning import concerning
from menus.labels.evidence import Evidence, Kind, Step
from menus.substances.catalogue import Catalogue

with (Path(__file__).parent / "data" / "cross_contact.csv").open(encoding="utf-8", newline="") as _lines:
    CASES = list(csv.DictReader(_lines))

IDS = [f"{case['id']}-{case['dish']}-{case['substance']}" for case in CASES]
EVENT = re.compile(r"(?P<at>\d\d:\d\d) (?P<what>[\w-]+) (?P<how>on|by) (?P<which>[\w-]+)")

Case = dict[str, str]


def surfaces_of(case: Case) -> dict[str, SurfaceFacts]:
    pairs = [part.split() for part in case["surfaces"].split(";")]
    return {name: SurfaceFacts(number, name, material) for number, (name, material) in enumerate(pairs)}


def dishes_of(case: Case) -> dict[str, tuple[int, Pieces]]:
    pairs = [part.strip().split("=") for part in case["dishes"].split(";")]
    return {
        name: (number, tuple(Evidence(code, Kind.NAMED, path=(Step("recipe", name, name),)) for code in codes.split()))
        for number, (name, codes) in enumerate(pairs, start=100)
    }


def events_of(case: Case) -> list[Use | Clean]:
    surfaces, dishes = surfaces_of(case), dishes_of(case)
    events: list[Use | Clean] = []
    for text in case["events"].split(";"):
        found = EVENT.fullmatch(text.strip())
        assert found, text
        at = datetime.fromisoformat(f"2026-11-25T{found['at']}")
        if found["how"] == "on":
            events.append(Use(at, surfaces[found["which"]].id, dishes[found["what"]][0]))
        else:
            events.append(Clean(at, surfaces[found["what"]].id, found["which"]))
    return events


def outcome(case: Case, events: list[Use | Clean]) -> str:
    dishes = dishes_of(case)
    result = carry_over(events, {surface.id: surface for surface in surfaces_of(case).values()}, dict(dishes.values()))
    pieces = concerning(case["substance"], result[dishes[case["dish"]][0]], Catalogue.load())
    kinds = {piece.kind for piece in pieces}
    if Kind.NAMED in kinds:
        return "own"
    return "carried" if Kind.CARRY_OVER in kinds else "clear"


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_case(case: Case) -> None:
    """Each case of the table comes out as the table says, by its basis."""
    assert outcome(case, events_of(case)) == case["expected"], f"{case['basis']}. {case['note']}"


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_order_of_writing_does_not_count(case: Case) -> None:
    """Events may be told in any order: only their times count."""
    for order in list(permutations(events_of(case)))[:24]:
        assert outcome(case, list(order)) == case["expected"]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_leaving_out_the_cleaning_is_never_milder(case: Case) -> None:
    """Without its cleanings no case comes out clearer than with them."""
    uses = [event for event in events_of(case) if isinstance(event, Use)]
    order = ("clear", "carried", "own")
    assert order.index(outcome(case, list(uses))) >= order.index(case["expected"])


def test_xc36_label_warns_whatever_the_kitchen_does() -> None:
    """XC36. Basis: the statement is voluntary and the maker's own; a clean kitchen does not answer it."""
    bun = Evidence("tree-nut", Kind.MAY_CONTAIN, path=(Step("product", "1", "Bun"),))
    board = SurfaceFacts(1, "board", "non_porous")
    events = [
        Clean(datetime.fromisoformat("2026-11-25T08:00"), board.id, "wash_rinse_sanitize"),
        Use(datetime.fromisoformat("2026-11-25T09:00"), board.id, 7),
    ]
    assert carry_over(events, {1: board}, {7: (bun,)})[7] == (bun,)


def test_every_method_of_the_cases_is_in_the_table() -> None:
    """A case that names a method nobody knows would prove nothing."""
    used = {event.method for case in CASES for event in events_of(case) if isinstance(event, Clean)}
    assert used <= set(methods())
    assert len(CASES) >= 30
