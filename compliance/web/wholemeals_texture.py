"""Levels of texture at the meals of a day: who needs which, what stands on their trays, and how many in all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.checks.texture import levels_by_site, stated_levels
from compliance.checks.texturesaid import levels_counted, texture_says, tray_lines
from compliance.models import MealPlan
from compliance.web.wholemeals_look import Tray, names_of
from roster.access import visible_classrooms
from roster.models import Enrolment, TextureLevel, User


@dataclass(frozen=True, slots=True)
class Textured:
    """One child of a meal with a level of texture; `dishes` is what is planned for it, with the lines to them."""

    child: int
    name: str
    classroom: str
    dishes: tuple[str, ...]
    says: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MealTextures:
    """The levels at one meal: counted for all who are there, by child for those whom the person may see."""

    counts: tuple[str, ...] = ()
    children: tuple[Textured, ...] = ()
    unseen: int = 0

    def of(self, child: int) -> Textured | None:
        """Return what is said of one child, if there is a level."""
        return next((each for each in self.children if each.child == child), None)


@dataclass(frozen=True, slots=True)
class _Seen:
    name: str
    classroom: str
    level: TextureLevel


def textures_at(plan: MealPlan, day: date, user: User, now: datetime) -> list[MealTextures]:
    """Return the levels at each meal that the plan holds of that day, in its order.

    Children without a restriction are among them: no tray of theirs was worked out, so they have what is planned for
    all. One query; four more where there is a level.
    """
    meals = [meal for meal in plan.result["meals"] if meal["day"] == day.isoformat()]
    asked = levels_by_site([plan.site_id], day, now).get(plan.site_id, {})
    if not asked:
        return [MealTextures() for _ in meals]
    rooms = {room.pk: room.name for room in visible_classrooms(user).filter(site=plan.site)}
    stays = Enrolment.objects.on(day).filter(classroom__in=rooms, child__in=asked.keys()).order_by()
    places = {child: rooms[room] for child, room in stays.values_list("child", "classroom")}
    names = names_of(places, rooms, day)
    seen = [_Seen(names[child], room, asked[child]) for child, room in places.items()]
    stated = stated_levels({row["recipe"] for meal in meals for row in _rows(meal)}, now)
    counts = tuple(levels_counted({plan.site_id: asked}))
    return [MealTextures(counts, _children(meal, seen, stated), len(asked) - len(seen)) for meal in meals]


def tray_of_all(textured: Textured) -> Tray:
    """Return the tray of a child of whom nothing but a level of texture is on record: what is planned for all."""
    return Tray(
        child=textured.child,
        name=textured.name,
        classroom=textured.classroom,
        keep_away=(),
        keeps=textured.dishes,
        gets=(),
        away=(),
        open=(),
        energy="",
    )


def _children(meal: dict[str, Any], seen: Sequence[_Seen], stated: Mapping[int, int]) -> tuple[Textured, ...]:
    recipes = {row["name"]: row["recipe"] for row in _rows(meal)}
    trays = {tray["child"]: (*tray["keeps"], *tray["gets"]) for tray in meal["trays"]}
    of_all = tuple(row["name"] for row in meal["planned"])
    found = []
    for each in seen:
        dishes = trays.get(each.level.child_id, of_all)
        lines = tray_lines(each.level, [(dish, stated.get(recipes.get(dish, 0))) for dish in dishes])
        says = texture_says(each.level)
        found.append(Textured(each.level.child_id, each.name, each.classroom, dishes, says, tuple(lines)))
    return tuple(sorted(found, key=lambda each: (each.classroom, each.name)))


def _rows(meal: dict[str, Any]) -> Sequence[dict[str, Any]]:
    return [*meal["planned"], *meal["extra"]]
