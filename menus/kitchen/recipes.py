"""Fold the evidence of products upward through recipes, once per recipe."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from menus.kitchen.graph import RecipeCycle, check_acyclic
from menus.labels.evidence import ANY, Evidence, Kind, Step, lifted

Pieces = tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class RecipeFacts:
    """One recipe version: its id, its name, and what its lines hold by id."""

    version: int
    name: str
    products: tuple[int, ...]
    recipes: tuple[int, ...]

    @property
    def step(self) -> Step:
        """This recipe as a link of a chain."""
        return Step("recipe", str(self.version), self.name)


def fold(recipes: Mapping[int, RecipeFacts], products: Mapping[int, Pieces]) -> dict[int, Pieces]:
    """Return the evidence of every recipe, from that of the products and recipes in its lines.

    `recipes` are keyed by recipe id, `products` by product id. A product or recipe that is not there is `unread`:
    nobody knows what it is; so is a recipe without a line. Raises RecipeCycle when a recipe holds itself. Each recipe
    is folded once, so the work is linear in the pieces of the result.
    """
    graph = {recipe: facts.recipes for recipe, facts in recipes.items()}
    folded: dict[int, Pieces] = {}
    try:
        check_acyclic(graph, recipes)
    except RecipeCycle as cycle:
        names: Mapping[object, str] = {recipe: facts.name for recipe, facts in recipes.items()}
        raise RecipeCycle([names[recipe] for recipe in cycle.path]) from None
    for recipe in recipes:
        for each in _innermost_first(graph, recipe, folded):
            folded[each] = _evidence(recipes, each, products, folded)
    return folded


def reached(recipes: Mapping[int, RecipeFacts], start: Iterable[int]) -> tuple[set[int], set[int]]:
    """Return the ids of the recipes and of the products that these recipes hold at any depth, themselves included.

    A recipe that is not there holds nothing known and is left out.
    """
    seen: set[int] = set()
    products: set[int] = set()
    todo = list(start)
    while todo:
        recipe = todo.pop()
        if recipe not in seen and recipe in recipes:
            seen.add(recipe)
            products.update(recipes[recipe].products)
            todo.extend(recipes[recipe].recipes)
    return seen, products


def _innermost_first(graph: Mapping[int, Sequence[int]], start: int, done: Mapping[int, Pieces]) -> list[int]:
    order: list[int] = []
    todo = [start]
    seen = set(done)
    while todo:
        node = todo[-1]
        waiting = [child for child in graph.get(node, ()) if child not in seen]
        if waiting and node not in seen:
            todo.extend(waiting)
            continue
        todo.pop()
        if node not in seen:
            seen.add(node)
            order.append(node)
    return order


def _evidence(
    recipes: Mapping[int, RecipeFacts], recipe: int, products: Mapping[int, Pieces], folded: Mapping[int, Pieces]
) -> Pieces:
    facts = recipes.get(recipe)
    if facts is None or not (facts.products or facts.recipes):
        path = (facts.step,) if facts else ()
        return (Evidence(ANY, Kind.UNIDENTIFIED, term="a recipe without lines", path=path),)
    pieces: list[Evidence] = []
    for product in facts.products:
        known = products.get(product, (Evidence(ANY, Kind.UNIDENTIFIED, term=f"product {product}"),))
        pieces.extend(lifted(known, facts.step))
    for part in facts.recipes:
        pieces.extend(lifted(folded[part], facts.step))
    return tuple(dict.fromkeys(pieces))
