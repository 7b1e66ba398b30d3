"""What a dish is really made of: products swapped at the line, and leftovers of an earlier batch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from menus.kitchen.recipes import Pieces, RecipeFacts, fold, reached
from menus.labels.evidence import Step, lifted


@dataclass(frozen=True, slots=True)
class Swap:
    """One product in place of another. Unless it is `whole`, some portions still hold the one that ran out."""

    out: int
    into: int
    whole: bool


def made_of(
    recipe: int, recipes: Mapping[int, RecipeFacts], products: Mapping[int, Pieces], swaps: Iterable[Swap]
) -> Pieces | None:
    """Return the evidence of one recipe after these swaps, in their order; None for a recipe that is not there.

    A swap reaches every line of the dish that holds the product, at any depth.
    """
    held, _ = reached(recipes, [recipe])
    own = {each: recipes[each] for each in held}
    for swap in swaps:
        own = {each: replace(facts, products=_swapped(facts.products, swap)) for each, facts in own.items()}
    return fold(own, products).get(recipe)


def _swapped(products: tuple[int, ...], swap: Swap) -> tuple[int, ...]:
    now: list[int] = []
    for product in products:
        if product != swap.out:
            now.append(product)
        else:
            now.extend([swap.into] if swap.whole else [product, swap.into])
    return tuple(dict.fromkeys(now))


def left_over(pieces: Pieces, serving: int, name: str, day: date) -> Pieces:
    """Return the evidence of an earlier batch as it comes into a later dish: with the day on which it was made."""
    return tuple(lifted(pieces, Step("batch", str(serving), f"{name}, left over from {day:%Y-%m-%d}")))
