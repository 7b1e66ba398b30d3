"""What a child's papers say beside its restrictions: levels of texture, lunchboxes, products approved for its room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from compliance.reports.childfile import ChildFile
from menus.mealpattern.household import household_foods, shapes
from menus.mealpattern.textures import DRINK, FOOD, levels
from roster.models import LunchBox, LunchBoxItem, TextureLevel

Set = tuple[str, str]
"""Of what a level is, FOOD or DRINK, and its number with its words."""


def levels_set(level: TextureLevel, language: str) -> Iterator[Set]:
    """Yield what one version sets, food first; nothing for an end."""
    for of, number in ((FOOD, level.food_level), (DRINK, level.drink_level)):
        if number is not None:
            yield of, levels(of)[number].named(language)


def boxed(boxes: Iterable[LunchBox], language: str) -> list[tuple[str, str]]:
    """Return the day of each box and what is in it; foods that people named stand as they named them."""
    return [(box.day.isoformat(), "; ".join(_food(item, language) for item in box.items.all())) for box in boxes]


def approved(file: ChildFile, every_room: str) -> list[tuple[str, str, str]]:
    """Return each approved product, the room that it may come to, and the last day."""
    return [
        (str(each.product), each.classroom.name if each.classroom else every_room, each.ends_on.isoformat())
        for each in file.approvals
    ]


def _food(item: LunchBoxItem, language: str) -> str:
    food, shape = household_foods().get(item.household), shapes().get(item.form)
    name = food.named(language) if food else item.name
    return f"{name}, {shape.named(language)}" if shape else name
