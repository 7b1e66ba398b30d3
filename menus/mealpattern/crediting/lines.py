"""One ingredient: what it credits, why it credits nothing, or what must be asked."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.crediting.amount import Amount
from menus.mealpattern.crediting.amounts import smaller
from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.foods import Food
from menus.mealpattern.crediting.naming import Name, read
from menus.mealpattern.crediting.recipe import Ingredient
from menus.mealpattern.crediting.sizes import by_name
from menus.mealpattern.crediting.tables import holds_any
from menus.mealpattern.crediting.wording import shown
from menus.mealpattern.tokens import words_of

_HOW = '; with it in hand write "(2 oz eq each)" and the count, or "(2.5 oz = 2 oz eq)" and the weight'

_FORM = "say whether it is raw, cooked, dry, canned or drained, or give a weight, cups or the size of a piece"


@dataclass(frozen=True, slots=True)
class Line:
    """What one ingredient comes to in a serving. `food` is None where it credits nothing or is asked."""

    name: str
    sentence: str
    food: Food | None = None
    per_serving: Fraction = Fraction()
    apart: bool = False  # not bounded by the volume served
    asked: bool = False

    @property
    def component(self) -> Component | None:
        return self.food.component if self.food else None


def credited(ingredient: Ingredient, *, servings: int, title: str, alone: bool = False) -> Line:
    """Return what an ingredient credits in one serving; never a guess. `alone`: it is a drink by itself."""
    name = read(ingredient.name)
    if not name.foods:
        return _ask(ingredient, "it is not in the table of foods")
    if "optional" in name.words:
        return _nothing(ingredient, "it may be left out")
    lines = [_line(food, name, ingredient, servings, title, alone) for food in name.foods]
    return lines[0] if len(lines) == 1 else _least(ingredient, lines)


def _line(food: Food, name: Name, ingredient: Ingredient, servings: int, title: str, alone: bool) -> Line:
    if food.component and (said := by_name(food.component, ingredient)):
        return _counted(food, food.component, said, ingredient, servings)
    if food.by_maker:
        return _ask(ingredient, f"{food.why}{_HOW if food.component and food.component.unit == 'oz eq' else ''}")
    if food.component is None:
        return _nothing(ingredient, food.why)
    if food.only_in and not alone and not holds_any(food.only_in, frozenset(words_of(title))):
        return _nothing(ingredient, "inside another food it does not count")
    if amount := smaller(food, name, ingredient):
        return _counted(food, food.component, amount, ingredient, servings)
    given = " and ".join(f"“{text}”" for text in (ingredient.weight, ingredient.measure) if text.strip())
    if not given:
        return _ask(ingredient, "no weight and no measure is given")
    return _ask(ingredient, f"the table does not say what {given} of it credits; {_FORM}")


def _counted(food: Food, component: Component, amount: Amount, ingredient: Ingredient, servings: int) -> Line:
    each = amount.credit / servings
    steps = f"{amount.steps}; ÷ {servings} servings = {shown(each)} {component.unit} of {component.said}"
    return Line(ingredient.name, f"{ingredient.name}: {steps}.", food, each, amount.apart)


def _least(ingredient: Ingredient, lines: list[Line]) -> Line:
    """Of a choice ("yogurt or mayonnaise") the one that credits less, since either may be served."""
    if any(line.asked for line in lines):
        return next(line for line in lines if line.asked)
    if any(line.component is None for line in lines):
        return _nothing(ingredient, "since one of the choices credits nothing")
    if len({line.component for line in lines}) > 1:
        return _ask(ingredient, "the choices count as different things; write the one that is served")
    return min(lines, key=lambda line: line.per_serving)


def _nothing(ingredient: Ingredient, why: str) -> Line:
    return Line(ingredient.name, f"{ingredient.name}: not credited, {why}.")


def _ask(ingredient: Ingredient, why: str) -> Line:
    return Line(ingredient.name, f"{ingredient.name}: not credited, ask: {why}.", asked=True)
