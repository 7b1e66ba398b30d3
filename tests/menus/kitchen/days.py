"""Small random days: five dishes, five surfaces, a few events within ten minutes, so that much falls together."""

from __future__ import annotations

from datetime import datetime, timedelta

from hypothesis import strategies as st

from menus.kitchen.events import Clean, Contact, Cover, Event, How, Reserve, Serve, Stay, Uncover, Use
from menus.kitchen.surfaces import SurfaceFacts

START = datetime.fromisoformat("2026-11-25T08:00")
MATERIALS = {0: "non_porous", 1: "non_porous", 2: "hands", 3: "fryer_oil", 4: "porous"}
SURFACES = {number: SurfaceFacts(number, f"surface {number}", material) for number, material in MATERIALS.items()}
DISHES = {0: {"peanut", "wheat"}, 1: {"wheat"}, 2: set[str](), 3: {"fish"}, 4: set[str]()}
AIRBORNE = {"wheat", "fish"}
METHODS = ("wash_rinse_sanitize", "commercial_cleaner_wipe", "soap_water_hands", "oil_change_and_vat_wash", "dry_wipe")
_KINDS = 16


def minute(number: int) -> datetime:
    """So many minutes into the day."""
    return START + timedelta(minutes=number)


def event_of(number: int) -> Event:
    """An event out of a number: what, when, and two things that it is about."""
    number, at_minute = divmod(number, 10)
    number, one = divmod(number, 5)
    what, other = divmod(number, 5)
    at = minute(at_minute)
    match what:
        case 0 | 1 | 2 | 3 | 4 | 5:
            return Use(at, one, other)
        case 6 | 7 | 8:
            return Clean(at, one, METHODS[other])
        case 9:
            return Contact(at, one, (one + 1 + other % 4) % 5)
        case 10:
            return Serve(at, other)
        case 11:
            return Reserve(at, other, 4)
        case 12:
            return Cover(at, other) if one % 2 else Uncover(at, other)
    return Stay(at, at + timedelta(minutes=one), one % 2, other, How(what - 13))


events = st.integers(0, _KINDS * 5 * 5 * 10 - 1).map(event_of)
days = st.lists(events, max_size=14)
