"""A recipe as it is handed in, checked before anything is worked out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

LONGEST = 1000


class BadRecipe(ValueError):
    """What is wrong with a recipe, why it matters, and how to mend it, in one sentence."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One line of a recipe. Weight and measure are as written; either may be empty."""

    name: str
    weight: str = ""
    measure: str = ""


@dataclass(frozen=True, slots=True)
class Recipe:
    """What one batch is made of and how many servings it makes."""

    servings: int
    ingredients: tuple[Ingredient, ...]
    title: str = ""
    serving_size: str = ""


def recipe_of(row: Any) -> Recipe:
    """Return the recipe that a JSON object holds. Raises BadRecipe; keys that are not used are passed over."""
    if not isinstance(row, dict):
        raise BadRecipe('this line is JSON but not an object; write {"id": …, "servings": …, "ingredients": […]}.')
    lines = row.get("ingredients")
    if not isinstance(lines, list) or not lines:
        raise BadRecipe(
            "'ingredients' is missing, empty or not a list, so there is nothing to credit; "
            'write [{"name": …, "weight": …, "measure": …}].'
        )
    return Recipe(
        servings=_servings(row.get("servings")),
        ingredients=tuple(_ingredient(line, place) for place, line in enumerate(lines, start=1)),
        title=_text(row, "title", "the recipe"),
        serving_size=_text(row, "serving_size", "the recipe"),
    )


def _servings(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise BadRecipe(
            "'servings' must be a whole number above zero, because each amount is divided by it; "
            "write how many servings the batch makes."
        )
    return value


def _ingredient(line: Any, place: int) -> Ingredient:
    where = f"ingredient {place}"
    if not isinstance(line, dict):
        raise BadRecipe(f'{where} is not an object, so it cannot be read; write {{"name": …, "weight": …}}.')
    name = _text(line, "name", where).strip()
    if not name:
        raise BadRecipe(f"{where} has no 'name', so nobody can tell what it is; add it.")
    return Ingredient(name, _text(line, "weight", where), _text(line, "measure", where))


def _text(row: dict[str, Any], key: str, where: str) -> str:
    value = row.get(key)
    if value is None:
        return ""
    if not isinstance(value, str):
        raise BadRecipe(f'{key!r} of {where} must be text, not {type(value).__name__}; write it like "8 lb 2 oz".')
    if len(value) > LONGEST:
        raise BadRecipe(
            f"{key!r} of {where} has {len(value):,} characters, too many for a name or a quantity; "
            f"shorten it to {LONGEST:,} at most."
        )
    return value
