"""The surfaces and the dishes of a day that is written down in JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from menus.kitchen.dayfile import DayFile, entries_of, name_of, said
from menus.kitchen.surfaces import OIL, UNWASHABLE
from menus.labels.evidence import ANY
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance

# The kinds that say more than a name. Everything else that “kind” may hold is a name.
NEVER_CLEAN = frozenset({"toaster"})
FRYERS = frozenset({"fryer"})
SHARED = frozenset({"bar", "self-serve bar", "container", "transport container"})

MATERIALS = ("non_porous", "porous", OIL, "hands", UNWASHABLE)


def read_surfaces(day: DayFile, entries: object) -> None:
    """Read the list of surfaces."""
    for where, entry in entries_of(day, "surfaces", "Surface", entries):
        name = name_of(entry.get("id"))
        if name is None:
            day.errors.append(f"{where} has no “id”, so no event can name it. Give it one, as text.")
            continue
        if day.surface_number(name) is not None:
            day.errors.append(f"{where}: “{name}” is described twice. Keep one of the two.")
        kind = str(entry.get("kind")).strip().casefold().replace("_", "-")
        surface = day.add_surface(name, _material(day, f"{where} (“{name}”)", kind, entry.get("material")))
        if kind in SHARED:
            day.shared.add(surface)


def read_dishes(day: DayFile, entries: object) -> None:
    """Read the list of dishes."""
    for where, entry in entries_of(day, "dishes", "Dish", entries):
        name = name_of(entry.get("id"))
        if name is None:
            day.errors.append(f"{where} has no “id”, so nothing can be said of it. Give it one, as text.")
            continue
        number = day.dish_number(name)
        if number is not None:
            day.errors.append(f"{where}: “{name}” is described twice; it counts as holding both. Keep one of the two.")
        where = f"{where} (“{name}”)"
        held = {key: list(_codes(day, where, key, entry)) for key in ("present", "possible")}
        if not entry.keys() & held.keys():
            day.errors.append(
                f"{where} says neither “present” nor “possible”, so it may hold anything. Say [] for none."
            )
            held["possible"].append(ANY)
        if ANY in held["present"]:
            held["possible"].append(ANY)  # what nobody can read is not there for certain
        added = day.add_dish(name, set(held["present"]) - {ANY}, held["possible"])
        if number is None:
            day.listed.append(added)


def _material(day: DayFile, where: str, kind: str, material: object) -> str:
    if material not in MATERIALS:
        day.errors.append(
            f"{where}: material {said(material)} is unknown, so no cleaning counts. Use one of: {', '.join(MATERIALS)}."
        )
        return UNWASHABLE
    if kind in FRYERS and material != OIL:
        day.errors.append(f"{where}: a fryer's material is its oil, so no cleaning counts. Say “{OIL}”.")
        return UNWASHABLE
    return UNWASHABLE if kind in NEVER_CLEAN else str(material)


def _codes(day: DayFile, where: str, key: str, entry: dict[str, object]) -> Iterator[str]:
    codes = entry.get(key, [])
    if not isinstance(codes, list):
        day.errors.append(f"{where}: “{key}” is not a list of codes, so it may hold anything. Write “{key}”: [ … ].")
        yield ANY
        return
    for code in codes:
        yield _code(code, lambda why: day.errors.append(f"{where}, “{key}”: {why}"))


def _code(code: object, complain: Callable[[str], None]) -> str:
    if not isinstance(code, str) or not code:
        complain(f"{said(code)} is no code, so it may be anything. Use codes from the substance list.")
        return ANY
    try:
        return code if code == ANY else Catalogue.load().get(code).code
    except UnknownSubstance as error:
        complain(f"{error} It was carried as it stands.")
        return code
