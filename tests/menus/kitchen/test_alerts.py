"""What somebody should look at. That each alert fires, and where it must not, is in tests/external too (XC cases)."""

from __future__ import annotations

from datetime import datetime, timedelta

from menus.kitchen.alerts import Alert, Matter, alerts
from menus.kitchen.events import Clean, Contact, Event, How, Stay, Use
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.labels.evidence import ANY, Evidence, Kind, Step

TOASTER = SurfaceFacts(1, "Toaster 2", "unwashable", ("gluten",))
TONGS = SurfaceFacts(2, "Tongs", "non_porous")
SURFACES = {1: TOASTER, 2: TONGS}
TOAST, PLAIN, OTHER = 1, 2, 3
NINE = datetime.fromisoformat("2026-11-25T09:00")
TEN = NINE + timedelta(hours=1)


def dish(name: str, *held: tuple[str, Kind]) -> Pieces:
    return tuple(Evidence(code, kind, path=(Step("recipe", name, name),)) for code, kind in held)


def raised(events: list[Event], *dishes: Pieces) -> list[Alert]:
    return list(alerts(events, SURFACES, dict(enumerate(dishes, start=1))))


def test_a_broken_reservation_names_both() -> None:
    """Wheat toast in the toaster for food without gluten: once, however often it is used."""
    toast = dish("Wheat toast", ("wheat", Kind.NAMED), ("milk", Kind.NAMED))
    (alert,) = raised([Use(NINE, 1, TOAST), Use(TEN, 1, TOAST)], toast)
    assert (alert.matter, alert.at, alert.surface) == (Matter.DEDICATED, NINE, 1)
    assert "Toaster 2 is reserved for food without gluten, and “Wheat toast” touched it" in alert.sentence


def test_it_breaks_by_a_carried_residue_and_by_another_surface() -> None:
    """Plain bread that lay where wheat bread lay, and tongs that nobody washed."""
    toast = dish("Wheat toast", ("wheat", Kind.NAMED))
    by_dish = [Use(NINE, 2, TOAST), Use(TEN, 2, PLAIN), Use(TEN + timedelta(minutes=5), 1, PLAIN)]
    by_tongs = [Use(NINE, 2, TOAST), Contact(TEN, 2, 1)]
    assert ["a dish" in alert.sentence for alert in raised(by_dish, toast, ())] == [True]
    assert ["another surface touched it" in alert.sentence for alert in raised(by_tongs, toast, ())] == [True]


def test_what_nobody_read_breaks_it_and_what_does_not_concern_it_does_not() -> None:
    """An unlabelled bread does; milk and a doubt about refined oil do not."""
    unknown = dish("Bread of the day", (ANY, Kind.NO_LABEL))
    other = dish("Corn bread", ("milk", Kind.NAMED), ("wheat", Kind.MAY_DERIVE))
    assert [alert.matter for alert in raised([Use(NINE, 1, TOAST)], unknown)] == [Matter.DEDICATED]
    assert raised([Use(NINE, 1, TOAST)], other) == []


def test_a_late_entry_tells_when_it_was_made() -> None:
    """A quarter of an hour is in time."""
    in_time, late = NINE + timedelta(minutes=15), NINE + timedelta(minutes=16)
    assert [
        alert.matter for alert in raised([Clean(NINE, 2, "wash_rinse", in_time), Use(TEN, 2, TOAST, TEN)], ())
    ] == []
    assert "only at 09:16" in raised([Use(NINE, 2, TOAST, late)], ())[0].sentence


def test_steam_is_told_for_people_by_substance() -> None:
    """Fish flies, sesame does not; nothing is told of a pot of rice."""
    fish = dish("Fish", ("fish.cod", Kind.NAMED), ("sesame", Kind.NAMED))
    (alert,) = raised([Stay(NINE, TEN, 2, TOAST, How.AIR)], fish)
    assert alert.matter is Matter.AIRBORNE
    assert "cod" in alert.sentence and "10:00" in alert.sentence and "sesame" not in alert.sentence
    assert raised([Stay(NINE, TEN, 2, TOAST, How.AIR)], dish("Rice", ("rice", Kind.NAMED))) == []
