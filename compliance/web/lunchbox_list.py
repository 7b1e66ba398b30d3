"""What to buy and what to prepare for many lunchboxes: food and form, no child."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from compliance.web.lunchbox_said import food_name, portion_name, shape_name
from roster.life.lunchbox import Packed, packed_of
from roster.models import LunchBox


@dataclass(frozen=True, slots=True)
class ToPrepare:
    """One food in one form, and in how many boxes it goes on which days."""

    food: str
    shape: str
    boxes: int
    portion: str  # of one box; empty where nobody knows
    days: tuple[tuple[date, int], ...]


def to_prepare(boxes: Iterable[LunchBox]) -> list[ToPrepare]:
    """Return each food in each form with its boxes, by name: “grapes, quartered lengthwise: 3 boxes”."""
    counted: dict[tuple[str, str, str], Counter[date]] = {}
    for box in boxes:
        for key in {_prepared(packed) for packed in packed_of(box.items.all())}:
            counted.setdefault(key, Counter())[box.day] += 1
    return [
        ToPrepare(food, shape, days.total(), portion, tuple(sorted(days.items())))
        for (food, shape, portion), days in sorted(counted.items(), key=lambda each: each[0])
    ]


def to_buy(boxes: Iterable[LunchBox]) -> list[tuple[str, int, str]]:
    """Return each food, in how many boxes it goes in whatever form, and the portion of one."""
    counted: Counter[tuple[str, str]] = Counter()
    for each in to_prepare(boxes):
        counted[each.food, each.portion] += each.boxes
    return [(food, boxes_of, portion) for (food, portion), boxes_of in sorted(counted.items())]


def _prepared(packed: Packed) -> tuple[str, str, str]:
    return food_name(packed), shape_name(packed), portion_name(packed)
