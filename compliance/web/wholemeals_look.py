"""A day of a kept meal plan as its page and its sheets show it: children by name, reasons in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.models import MealPlan
from compliance.web.names import short_names
from compliance.web.wholemeals_said import amount, away_said, lack_said
from menus.models import Meal
from menus.substances.catalogue import Catalogue
from roster.access import visible_classrooms
from roster.models import Child, Restriction, Strictness, User


@dataclass(frozen=True, slots=True)
class Portions:
    """How many portions of one dish, and a note to it; `away`: how many children are not given it."""

    name: str
    portions: int
    note: str = ""
    away: int = 0


@dataclass(frozen=True, slots=True)
class Tray:
    """One child's tray at one meal."""

    child: int
    name: str
    classroom: str
    keep_away: tuple[str, ...]
    keeps: tuple[str, ...]
    gets: tuple[str, ...]
    away: tuple[str, ...]  # what was planned and is left out, each with why
    open: tuple[str, ...]  # one sentence for each component that stays open
    energy: str

    @property
    def dishes(self) -> tuple[str, ...]:
        """All that stands on it."""
        return (*self.keeps, *self.gets)

    @property
    def differs(self) -> bool:
        """Whether it is not the meal planned for all."""
        return bool(self.away or self.gets or self.open)


@dataclass(frozen=True, slots=True)
class MealLook:
    """One meal of the day."""

    meal: Meal
    program: str
    children: int  # all who are there
    planned: tuple[Portions, ...]
    extra: tuple[Portions, ...]
    trays: tuple[Tray, ...]  # of the children whom the person may see
    unseen: int
    short: tuple[str, ...]  # what the planned meal itself holds too little of
    asked: tuple[tuple[str, str], ...]  # dishes of which something credits nothing until it is answered
    needs: tuple[str, ...]
    unchecked: tuple[str, ...]  # planned dishes that no check speaks for

    @property
    def own(self) -> tuple[Tray, ...]:
        """The trays that differ from the meal of all and are whole."""
        return tuple(tray for tray in self.trays if tray.differs and not tray.open)

    @property
    def unmet(self) -> tuple[Tray, ...]:
        """The trays that are not whole."""
        return tuple(tray for tray in self.trays if tray.open)

    @property
    def same(self) -> int:
        """How many children with something on record have the meal of all."""
        return sum(not tray.differs for tray in self.trays)

    @property
    def whole(self) -> int:
        """How many children with something on record have a whole meal."""
        return len(self.trays) - len(self.unmet)


def looked(plan: MealPlan, day: date, user: User, now: datetime) -> list[MealLook]:
    """Return the meals of that day as the plan holds them, with the children whom the user may see.

    What is to be kept away is what stands on record now. Four queries, whatever the number of children.
    """
    meals = [meal for meal in plan.result["meals"] if meal["day"] == day.isoformat()]
    rooms = {room.pk: room.name for room in visible_classrooms(user).filter(site=plan.site)}
    wanted = {tray["child"] for meal in meals for tray in meal["trays"] if tray["classroom"] in rooms}
    children = list(Child.objects.filter(pk__in=wanted))
    names, away = short_names(children), keep_away(wanted, day, now)
    return [_meal(meal, rooms, names, away) for meal in meals]


def keep_away(children: Iterable[int], day: date, now: datetime) -> dict[int, tuple[str, ...]]:
    """Return what is to be kept away from each of these children on that day, foods alone. One query."""
    found: dict[int, set[str]] = {}
    for row in Restriction.objects.in_force(day, day, now).filter(child__in=list(children)):
        if row.holds_on(day):
            name = Catalogue.load().get(row.substance).name
            reach = "traces too" if row.strictness == Strictness.TRACE else "as an ingredient"
            found.setdefault(row.child_id, set()).add(f"{name}, {reach}")
    return {child: tuple(sorted(foods)) for child, foods in found.items()}


def _meal(
    meal: dict[str, Any], rooms: Mapping[int, str], names: Mapping[int, str], away: Mapping[int, tuple[str, ...]]
) -> MealLook:
    seen = [tray for tray in meal["trays"] if tray["child"] in names]
    trays = [_tray(tray, rooms, names, away) for tray in seen]
    return MealLook(
        meal=Meal(meal["meal"]),
        program=meal["program"],
        children=meal["children"],
        planned=tuple(Portions(row["name"], row["portions"], away=row["away"]) for row in meal["planned"]),
        extra=tuple(Portions(row["name"], row["portions"], row["note"]) for row in meal["extra"]),
        trays=tuple(sorted(trays, key=lambda tray: (tray.classroom, tray.name))),
        unseen=len(meal["trays"]) - len(seen),
        short=tuple(
            f"{need['what']}: {amount(need['offered'])} of {amount(need['least'])} {need['unit']}"
            for need in meal["needs"]
            if need["short"]
        ),
        asked=tuple((name, ", ".join(what)) for name, what in meal["asked"]),
        unchecked=tuple(meal["unchecked"]),
        needs=tuple(
            f"{need['what']}, {amount(min(need['least'], need['offered']))} {need['unit']}"
            for need in meal["needs"]
            if need["offered"]
        ),
    )


def _tray(
    tray: dict[str, Any], rooms: Mapping[int, str], names: Mapping[int, str], away: Mapping[int, tuple[str, ...]]
) -> Tray:
    return Tray(
        child=tray["child"],
        name=names[tray["child"]],
        classroom=rooms[tray["classroom"]],
        keep_away=away.get(tray["child"], ()),
        keeps=tuple(tray["keeps"]),
        gets=tuple(tray["gets"]),
        away=tuple(away_said(each) for each in tray["away"]),
        open=tuple(lack_said(each) for each in tray["open"]),
        energy="" if tray["energy"] is None or not tray["gets"] else f"{tray['energy']:+.0f} kcal",
    )
