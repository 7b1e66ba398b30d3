"""A day of a kept meal plan as its page and its sheets show it: children by name, reasons in words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Q

from compliance.checks.avoided import NOTHING, Avoided, avoided_by
from compliance.models import MealPlan
from compliance.web.names import short_names
from compliance.web.wholemeals_said import amount, away_said, lack_said
from menus.models import Meal
from roster.access import visible_classrooms
from roster.models import Child, Enrolment, User


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
    is_outlook: bool  # no check reaches the day yet
    cost: str  # of the extra portions; empty where none is on record
    uncosted: int  # extra portions of which no cost is on record

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
    names, away = names_of(wanted, rooms, day), avoided_by(wanted, day, now)
    return [_meal(meal, rooms, names, away) for meal in meals]


def names_of(children: Collection[int], rooms: Collection[int], day: date) -> dict[int, str]:
    """Return these children by short name, which is nobody else's of these rooms on that day. One query."""
    there = Enrolment.objects.on(day).filter(classroom__in=rooms).order_by().values("child")
    every = short_names(Child.objects.filter(Q(pk__in=children) | Q(pk__in=there)))
    return {pk: name for pk, name in every.items() if pk in children}


def _meal(
    meal: dict[str, Any], rooms: Mapping[int, str], names: Mapping[int, str], away: Mapping[int, Avoided]
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
        is_outlook=meal.get("outlook", False),
        cost=f"{sum(costs):,.2f}"
        if (costs := [row["cost"] for row in meal["extra"] if row.get("cost") is not None])
        else "",
        uncosted=sum(row["portions"] for row in meal["extra"] if row.get("cost") is None),
        needs=tuple(
            f"{need['what']}, {amount(min(need['least'], need['offered']))} {need['unit']}"
            for need in meal["needs"]
            if need["offered"]
        ),
    )


def _tray(
    tray: dict[str, Any], rooms: Mapping[int, str], names: Mapping[int, str], away: Mapping[int, Avoided]
) -> Tray:
    return Tray(
        child=tray["child"],
        name=names[tray["child"]],
        classroom=rooms[tray["classroom"]],
        keep_away=away.get(tray["child"], NOTHING).foods,
        keeps=tuple(tray["keeps"]),
        gets=tuple(tray["gets"]),
        away=tuple(away_said(each) for each in tray["away"]),
        open=tuple(lack_said(each) for each in tray["open"]),
        energy="" if tray["energy"] is None or not tray["gets"] else f"{tray['energy']:+.0f} kcal",
    )
