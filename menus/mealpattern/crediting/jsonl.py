"""Recipes by the line: what `credit_recipe` does with each row of its input."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from menus.mealpattern.crediting.recipe import BadRecipe, recipe_of
from menus.mealpattern.crediting.totals import credit


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of output and whether its input was a recipe."""

    line: str
    is_good: bool


def read_lines(lines: Iterable[bytes]) -> Iterator[Answer]:
    """Answer every line in order; a bad line is answered with what is wrong with it."""
    for number, line in enumerate(lines, start=1):
        row_id: Any = None
        try:
            row = _parsed(line)
            row_id = _id(row)
            told = answer(row)
        except BadRecipe as error:
            yield Answer(_dumped({"id": row_id, "error": f"Line {number}: {error}"}), False)
        else:
            yield Answer(_dumped({"id": row_id, **told}), True)


def answer(row: Any) -> dict[str, Any]:
    """Return what one serving of the recipe in a JSON object credits, as JSON. Raises BadRecipe."""
    found = credit(recipe_of(row))
    told: dict[str, Any] = {"credits": _numbers(found.credits)}
    if found.if_legume_counted_as_vegetable is not None:
        told["credits_if_legume_counted_as_vegetable"] = _numbers(found.if_legume_counted_as_vegetable)
    return {**told, "arithmetic": list(found.arithmetic), "ask": list(found.ask)}


def _id(row: Any) -> str | int | None:
    told = row.get("id") if isinstance(row, dict) else None
    if told is None or isinstance(told, str | int):
        return told
    raise BadRecipe(f"'id' must be text or a whole number, not {type(told).__name__}, so that the answer can carry it.")


def _numbers(credits: dict[str, Fraction]) -> dict[str, float]:
    """Eighths and quarters are exact as decimals."""
    return {key: float(amount) for key, amount in credits.items()}


def _parsed(line: bytes) -> Any:
    try:
        return json.loads(line.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise BadRecipe("this line is not UTF-8 text, so it cannot be read; save the file as UTF-8.") from None
    except (ValueError, RecursionError):
        raise BadRecipe("this line is not a JSON object, so it cannot be read; write one object a line.") from None


def _dumped(row: dict[str, Any]) -> str:
    # Half a character, which JSON can hold and no file can, is written as its escape.
    return json.dumps(row, ensure_ascii=False).encode("utf-8", "backslashreplace").decode()
