"""Which food an ingredient's name means."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.foods import Food, foods
from menus.mealpattern.crediting.tables import Phrases, holds_any, phrases, rows
from menus.mealpattern.tokens import words_of

_ASIDE = re.compile(r"\(([^()]*)\)")
_ITEM = re.compile(r"#\s*\d+(\s*cans?\b)?", re.IGNORECASE)  # an item's number on an order list, or a can's size
_REST = re.compile(r"\b(?:with|without|in|for|from|packed|such as|including|containing)\b|\bw/", re.IGNORECASE)
_EITHER = re.compile(r"\bor\b", re.IGNORECASE)
_PARTS = re.compile(r"[,;:()]")
_MEATS = frozenset({Component.MEAT, Component.ALTERNATE})


@dataclass(frozen=True, slots=True)
class Name:
    """A name, the foods it may mean (more than one where it says "or"), and all the words that tell its form."""

    foods: tuple[Food, ...]
    words: frozenset[str]


@lru_cache(maxsize=4096)
def read(name: str) -> Name:
    """Return what a name means; without foods where the table does not know it."""
    said = _ITEM.sub(lambda item: " canned " if item[1] else " ", name)
    said = _ASIDE.sub(lambda aside: " " if _EITHER.match(aside[1].strip()) else aside[0], said)
    words = frozenset(words_of(said))
    outside = _ASIDE.sub(" ", said)
    head = _REST.split(outside)[0]
    found = _either(head) or _either(outside) or _either(said)
    return Name(tuple(_by_maker(food, words) for food in found), words)


def _either(text: str) -> tuple[Food, ...]:
    sides = [food for side in _EITHER.split(text) if (food := _named_by(side))]
    different = {food.id: food for food in sides}
    if len(different) > 1:
        return tuple(different.values())
    whole = find(text)
    return (whole,) if whole else ()


def _named_by(side: str) -> Food | None:
    """The food of one side of "or", where the side is a whole name: not the "ground black" of "ground black or white
    pepper", nor the "chili lime" of "chili lime or taco seasoning"."""
    food = find(side)
    heads = {words[-1] for part in _PARTS.split(side) if (words := words_of(part))}
    return food if food and any(heads.intersection(phrase) for phrase in food.words) else None


def find(text: str) -> Food | None:
    """Return the food whose phrase has the most words in the text, in any order ("tomatoes, diced, canned").

    What stands before the first comma is what a thing is ("muffin, chocolate chip"), so a phrase with a word there goes
    before one without. Of two as long, the one in the earlier part; in one part the later, where English puts the noun
    ("vanilla yogurt", "chicken soup").
    """
    places: dict[str, tuple[int, int]] = {}
    for part, piece in enumerate(_PARTS.split(text)):
        for place, word in enumerate(words_of(piece)):
            places.setdefault(word, (-part, place))
    first = max((part for part, _ in places.values()), default=0)
    best: tuple[tuple[bool, int, int, int], Food] | None = None
    for phrase, food in _candidates(frozenset(places)):
        part, place = max(places[word] for word in phrase)
        score = (part == first, len(phrase), part, place)
        if best is None or score > best[0]:
            best = (score, food)
    return best[1] if best else None


def _candidates(words: frozenset[str]) -> Iterator[tuple[tuple[str, ...], Food]]:
    for word in sorted(words):
        for phrase, food in _by_word().get(word, ()):
            if words.issuperset(phrase):
                yield phrase, food


@cache
def _by_word() -> dict[str, list[tuple[tuple[str, ...], Food]]]:
    table: dict[str, list[tuple[tuple[str, ...], Food]]] = {}
    for food in foods():
        for phrase in food.words:
            table.setdefault(phrase[0], []).append((phrase, food))
    return table


@cache
def _maker_signs() -> tuple[tuple[Phrases, Phrases, str], ...]:
    return tuple((phrases(row["words"]), phrases(row["unless"]), row["why"]) for row in rows("maker_signs.csv"))


def _by_maker(food: Food, words: frozenset[str]) -> Food:
    """A meat with a word such as "breaded" is a product whose credit only its maker knows."""
    if food.component not in _MEATS or food.by_maker:
        return food
    for signs, unless, why in _maker_signs():
        if holds_any(signs, words) and not holds_any(unless, words):
            return replace(food, why=why, by_maker=True)
    return food
