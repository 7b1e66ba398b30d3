"""One food of a lunchbox as the engine takes it: its evidence, and the names by which age rules know it."""

from __future__ import annotations

from datetime import date

from compliance.checks.food import label_evidence, product_evidence
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, Evidence, Kind, Step
from menus.labels.lexicon import Lexicon
from menus.mealpattern.balance import BalanceFood
from menus.mealpattern.choking import Food
from menus.mealpattern.colours import colours_of
from menus.mealpattern.household import HouseholdFood, household_foods, shapes
from menus.models import Label, Product, Site
from menus.models.product import Regulator
from roster.life.lunchbox import Packed

DRINKS = frozenset({"milk", "water"})
"""Household foods that are drunk; what is packed otherwise may be either."""


def household_of(packed: Packed) -> HouseholdFood | None:
    """Return the row of the household food, or None for a product and for a food by name."""
    return household_foods().get(packed.household)


def label_of(packed: Packed, on: date) -> Label | None:
    """Return what is to be read of the food: a product's own label, the words typed, or what a plain food lists.

    The rows are the reader's only: those of typed words and plain foods are not stored, and have no id.
    """
    if packed.product is not None:
        return packed.product.current_labels[0] if packed.product.current_labels else None
    food = household_of(packed)
    words = packed.words or (food.words if food else "")
    if not words:
        return None
    product = Product(name=packed.name, regulator=Regulator.NONE if packed.home_made else Regulator.DEFAULT)
    return Label(product=product, ingredients=words, seen_on=(packed.seen_on or on) if packed.words else on)


def evidence_of(packed: Packed, *, on: date, lexicon: Lexicon, site: Site) -> Pieces:
    """Return the evidence of a food on a day; without a label of its own nothing beyond its name is known of it.

    A product was loaded by `ProductQuerySet.with_label`.
    """
    step = Step("food", "", packed.name)
    label, food = label_of(packed, on), household_of(packed)
    pieces: Pieces = ()
    if packed.product is not None:
        pieces = product_evidence(packed.product, on=on, lexicon=lexicon, site=site)
    elif label is not None:
        pieces = label_evidence(label, on=on, lexicon=lexicon, home_made=packed.home_made, site=site)
    unlabelled = packed.product is None and not packed.words and (food is None or food.has_package)
    added = [Evidence(ANY, Kind.NO_LABEL, path=(step,))] if unlabelled else []
    if packed.home_made:
        added.append(Evidence(ANY, Kind.HOME_MADE, path=(step,)))
    return tuple(dict.fromkeys((*pieces, *added)))


def age_foods(packed: Packed) -> list[Food]:
    """Return the names of a food, with its cut before and behind: lists say “apple wedges” and “whole apple”."""
    food, shape = household_of(packed), shapes().get(packed.form)
    names = [name for name in (packed.name if food is None else food.name, food.choking if food else "") if name]
    cut = shape.words if shape else ""
    foods = [Food(name, form=cut) for name in names]
    return [*foods, *(Food(text) for name in names if cut for text in (f"{name} {cut}", f"{cut} {name}"))]


def balance_food(packed: Packed) -> BalanceFood:
    """Return the food as the advice on balance takes it; of what is not a household food only its name is known."""
    food = household_of(packed)
    return BalanceFood(packed.name, food.credits if food else {}, colours_of(f"{food.name if food else packed.name}"))
