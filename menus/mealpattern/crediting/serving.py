"""What one serving measures, by the words of the recipe ("3/4 cup stir-fry over 1/2 cup brown rice")."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.foods import Food
from menus.mealpattern.crediting.naming import find
from menus.mealpattern.crediting.quantity import UNITS, number, spelled_out
from menus.mealpattern.crediting.ways import ways
from menus.mealpattern.tokens import words_of

_PART = re.compile(
    r"(\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d*\.\d+|\d+)\s*(fl\.?\s*oz|cups?|c\.?|tbsp|tablespoons?)(?![a-z])([^\d,;+]*)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Portion:
    """A part of the serving by volume, and the food that its words name, if any."""

    cups: Fraction
    food: Food | None
    words: frozenset[str]


@dataclass(frozen=True, slots=True)
class Serving:
    """The parts of a serving. `is_volume` tells whether they are all of it, so that nothing comes on top."""

    portions: tuple[Portion, ...]
    is_volume: bool

    @property
    def cups(self) -> Fraction | None:
        """The volume of the whole serving, where it is told."""
        return sum((portion.cups for portion in self.portions), Fraction()) if self.is_volume else None

    def room_for(self, component: Component) -> Fraction | None:
        """Return the most of a fruit or vegetable that the serving holds: "1/2 cup fruit", or all of its volume."""
        kind = "fruit" if component is Component.FRUIT else "vegetable"
        named = [portion.cups for portion in self.portions if kind in portion.words and not portion.food]
        return sum(named, Fraction()) if named else self.cups

    def limit(self, food: Food) -> tuple[Fraction, Fraction] | None:
        """Return the cups served of a cooked grain, and the ounce equivalents which that much credits."""
        if food.component is not Component.GRAINS:
            return None
        cups = sum((each.cups for each in self.portions if each.food and each.food.id == food.id), Fraction())
        cooked = next((way for way in ways(food) if way.unit == "cup" and way.fits(frozenset({"cooked"}))), None)
        return (cups, cups * cooked.rate) if cups and cooked else None


def read(text: str) -> Serving:
    """Return what a serving measures; nothing where the words do not tell."""
    bare = re.sub(r"\([^()]*\)", " ", spelled_out(text))
    portions = tuple(
        Portion(cups, find(match[3]), frozenset(words_of(match[3])))
        for match in _PART.finditer(bare)
        if (cups := _cups(match[1], match[2]))
    )
    rest = re.sub(r"\b(?:over|with|and|plus|about|on|per|serving)\b|[\s,;+.]", "", _PART.sub("", bare))
    return Serving(portions, bool(portions) and not rest)


def _cups(amount: str, unit: str) -> Fraction | None:
    name = re.sub(r"\s+", " ", unit.lower().replace(".", ""))
    name = "fl oz" if name.startswith("fl") else name.rstrip("s")
    found = number(amount)
    return found * UNITS[name][1] if found is not None else None
