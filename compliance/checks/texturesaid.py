"""Levels of texture in words: who needs which, what of a dish is done about it. No verdict, and no condition."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import get_language, gettext

from compliance.checks.texture import DishTexture, Need, dish_textures, levels_by_site
from menus.mealpattern.textures import DRINK, FOOD, Fits, levels, wanted
from menus.models import Serving
from roster.models import TextureLevel


@dataclass(frozen=True, slots=True)
class Told:
    """One line beside a dish: who needs which level, and what is done."""

    who: str
    what: str

    def __str__(self) -> str:
        return f"{self.who}. {self.what}"


def texture_lines(dish: DishTexture, names: Mapping[int, str] | None = None) -> list[Told]:
    """Return the lines of one dish: children by name, or counted where no names are given."""
    return [
        Told(counted(needs) if names is None else named(needs, names), to_do(fit, dish.stated))
        for fit, needs in dish.by_fit
    ]


def levels_counted(by_site: Mapping[int, Mapping[int, TextureLevel]]) -> list[str]:
    """Return which levels are asked for by how many, in words: “2 at food level 5 (soft and moist …)”."""
    there = {child: level for site in by_site.values() for child, level in site.items()}
    asked = (each for level in there.values() for each in wanted(level.food_level, level.drink_level, None))
    numbers = Counter((each.of, each.level) for each in asked)
    return [f"{numbers[of, level]} at {of} level {levels(of)[level].named('en')}" for of, level in _in_order(numbers)]


def levels_meant(dish: DishTexture) -> list[str]:
    """Return what the levels that a dish meets are, in words: “food level 5 (soft and moist …)”."""
    met = {(each.of, each.level) for need in dish.needs for each in need.wanted}
    return [f"{of} level {levels(of)[level].named('en')}" for of, level in _in_order(met)]


def tray_lines(level: TextureLevel, dishes: Iterable[tuple[str, int | None]]) -> list[str]:
    """Return what is to be done with a child's dishes, each with the level that it states; nothing where all fit."""
    by_fit: dict[Fits, list[str]] = {}
    for name, stated in dishes:
        if asked := wanted(level.food_level, level.drink_level, stated):
            shown = name if stated is None else f"{name} (level {stated})"
            by_fit.setdefault(Need(0, asked).fits, []).append(shown)
    return [f"{TRAY[fit]}: {'; '.join(names)}." for fit, names in by_fit.items()]


TRAY = {
    Fits.UNKNOWN: "No level stated, so not as it is: prepare to the level set and ask licensed staff",
    Fits.ABOVE: "Not as it is: prepare to the level set",
    Fits.OTHER: "Another level than the one set, so ask licensed staff before it is served",
}
"""How a dish stands to the level set, with what is done, for a line that names the dishes."""


def meal_lines(
    servings: Iterable[Serving], day: date, at: datetime, withheld: Mapping[int, Collection[int]]
) -> list[tuple[str, list[Told]]]:
    """Return for a kitchen's dishes of one day which of them ask what, nobody named. A query, and one for a level.

    `withheld`: by serving, the children who do not get it.
    """
    dishes = list(servings)
    found = dish_textures(dishes, levels_by_site({dish.site_id for dish in dishes}, day, at), at)
    several = len({dish.site_id for dish in dishes}) > 1
    lines = [
        (
            f"{dish.recipe}, for {dish.site}" if several else str(dish.recipe),
            texture_lines(found[dish.pk].without(withheld.get(dish.pk, ()))),
        )
        for dish in dishes
        if dish.pk in found
    ]
    return [(dish, told) for dish, told in lines if told]


def counted(needs: Sequence[Need]) -> str:
    """Return how many children need which level, without a name: “2 at food level 5; 1 at drink level 2”."""
    numbers = Counter((each.of, each.level) for need in needs for each in need.wanted)
    return "; ".join(f"{numbers[of, level]} at {of} level {level}" for of, level in _in_order(numbers))


def _in_order(numbers: Iterable[tuple[str, int]]) -> list[tuple[str, int]]:
    """Food first, then by level."""
    return sorted(numbers, key=lambda each: (each[0] == DRINK, each[1]))


def named(needs: Sequence[Need], names: Mapping[int, str]) -> str:
    """Return the children with their levels: “Kofi E. (food level 5)”."""
    return "; ".join(
        f"{names[need.child]} ({', '.join(each.named for each in need.wanted)})"
        for need in sorted(needs, key=lambda need: names[need.child])
    )


def to_do(fit: Fits, stated: int | None) -> str:
    """Return what whoever prepares or hands out the dish does."""
    if fit is Fits.UNKNOWN:
        return (
            "This dish states no level: do not serve it as it is. Prepare it to the level set and ask licensed staff."
        )
    if fit is Fits.ABOVE:
        return f"This dish is made to level {stated}: do not serve it as it is. Prepare it to the level set."
    return f"This dish is made to level {stated}, which is not the level set: ask licensed staff before it is served."


ON_PAPER = (
    "Of a dish that states another level, or none: not as it is; prepare it to this level and ask licensed staff."
)
"""What stands beside the level of a child where the dishes are not named."""


def texture_says(texture: TextureLevel) -> str:
    """The levels set for a child, by number and in words, in the language of the page."""
    language = (get_language() or "en")[:2]
    said = []
    if texture.food_level is not None:
        said.append(
            gettext("Food of texture level %(level)s.") % {"level": levels(FOOD)[texture.food_level].named(language)}
        )
    if texture.drink_level is not None:
        said.append(
            gettext("Drink of thickness level %(level)s.")
            % {"level": levels(DRINK)[texture.drink_level].named(language)}
        )
    return " ".join(said)
