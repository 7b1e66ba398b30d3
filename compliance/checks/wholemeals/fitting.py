"""Dishes on hand that a child is not offered for their form: how they are cut for its age, and their texture."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from compliance.checks.age import Book
from compliance.checks.texture import levels_asked, stated_levels
from compliance.checks.wholemeals.facts import Stop
from compliance.rules.values import Outcome
from menus.mealpattern.age import months_on
from menus.mealpattern.choking import choking_in_dish
from menus.mealpattern.hazards import grown
from menus.mealpattern.textures import Wanted, wanted
from menus.models import Recipe, Site
from roster.models import Child


class Fitting:
    """Dishes on hand as they are made now, and the ages and levels of the children of a site.

    A planned dish is shown with what is to be cut or softened, and is kept. One that is taken from a freezer for one
    child is offered only as its recipe says that it is.
    """

    def __init__(self, site: Site, recipes: Iterable[Recipe], children: Iterable[Child], at: datetime) -> None:
        self._names = {recipe.pk: recipe.name for recipe in recipes}
        there = list(children)
        self._births = {child.pk: child.birth_date for child in there}
        self._levels = levels_asked(self._births, at) if self._names else {}
        self._stated = stated_levels(self._names, at) if self._levels else {}
        self._place = site.jurisdiction
        self._book = Book.open(site) if self._names else None
        self._cut: dict[tuple[int, int | None], tuple[Stop, ...]] = {}

    def stops(self, child: int, recipe: int, day: date) -> tuple[Stop, ...]:
        """Return why the child is not offered the dish on that day; nothing where form and texture are as asked."""
        return (*self._by_age(recipe, months_on(self._births[child], day)), *self._by_texture(child, recipe))

    def _by_age(self, recipe: int, months: int | None) -> tuple[Stop, ...]:
        """What lists of foods on which children choke ask for. A form that is not said counts as the risky one."""
        if months is not None and months >= grown(self._place):
            return ()
        if (recipe, months) not in self._cut:
            assert self._book is not None  # there is a recipe
            name = self._names[recipe]
            parts = list(self._book.parts(recipe, (name,)))
            found = choking_in_dish(name, parts, youngest=months, place=self._place)
            self._cut[recipe, months] = tuple(
                Stop("", Outcome.REFER, f"{each.hazard.food}, {each.ages}: {each.what}") for each in found
            )
        return self._cut[recipe, months]

    def _by_texture(self, child: int, recipe: int) -> tuple[Stop, ...]:
        level = self._levels.get(child)
        if level is None:
            return ()
        stated = self._stated.get(recipe)
        asked = wanted(level.food_level, level.drink_level, stated)
        return (Stop("", Outcome.REFER, _texture_said(asked, stated)),) if asked else ()


def _texture_said(asked: Iterable[Wanted], stated: int | None) -> str:
    levels = " and ".join(each.named for each in asked)
    made = "it states no level of texture" if stated is None else f"it is made to level {stated}"
    return f"{made}, and {levels} is set: ask licensed staff"
