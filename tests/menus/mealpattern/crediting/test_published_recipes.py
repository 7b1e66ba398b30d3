"""Published recipes with published credits: what a serving credits agrees, or is asked, or the arithmetic says why not.

Each row of recipes.jsonl names its publisher. `ask` is what must be asked, neither more nor less; `explained` gives the
reason for every credit that differs by more than the tolerance, and holds no other key.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from menus.mealpattern.crediting.jsonl import answer

with (Path(__file__).parent / "recipes.jsonl").open(encoding="utf-8") as _lines:
    RECIPES = [json.loads(line) for line in _lines]

by_recipe = pytest.mark.parametrize("row", RECIPES, ids=[row["id"] for row in RECIPES])


def tolerance(key: str) -> float:
    return 0.125 if key.endswith("_cup") else 0.25


def differing(published: dict[str, float], told: dict[str, float]) -> set[str]:
    return {key for key, amount in published.items() if abs(told.get(key, 0) - amount) > tolerance(key)}


@by_recipe
def test_agrees_with_the_publisher_or_says_why(row: dict[str, Any]) -> None:
    """Within 1/8 cup and 1/4 oz eq; a difference is explained, and an explanation without a difference is stale."""
    assert differing(row["published"], answer(row)["credits"]) == set(row["explained"])


@by_recipe
def test_beans_counted_as_vegetable_agree_too(row: dict[str, Any]) -> None:
    """The second published line, where a recipe has one: beans as vegetable, cheese and meat stay."""
    published = row.get("published_if_legume_counted_as_vegetable", {})
    found = differing(published, answer(row).get("credits_if_legume_counted_as_vegetable", {}))
    asked = {"meat_oz_eq", "grains_oz_eq"} if row["ask"] else set()
    assert found <= set(row["explained"]) | asked


@by_recipe
def test_asks_what_the_table_does_not_cover_and_nothing_else(row: dict[str, Any]) -> None:
    """Made products, pieces of unknown size: asked. Water, seasoning and what the table knows: not."""
    assert answer(row)["ask"] == row["ask"]


@by_recipe
def test_every_credit_has_its_arithmetic(row: dict[str, Any]) -> None:
    """Each key has the sum that was rounded, each ingredient a sentence."""
    told = answer(row)
    starts = {sentence.split(":")[0] for sentence in told["arithmetic"]}
    assert set(told["credits"]) <= starts
    for ingredient in row["ingredients"]:
        assert any(sentence.startswith(ingredient["name"].strip()) for sentence in told["arithmetic"])


def test_four_recipes_disagree_and_the_others_ask() -> None:
    """Guards the file: a new disagreement with a publisher is looked at before it is written down as one."""
    disagreeing = {row["id"] for row in RECIPES for why in row["explained"].values() if not why.startswith("asked: ")}
    assert disagreeing == {"I5", "R17", "R23", "R39"}
