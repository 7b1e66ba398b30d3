"""What another dish in the place of a planned one means for children, by the rules themselves. Nothing is written."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import date, datetime

from compliance.checks.facts import Facts
from compliance.checks.load import load
from compliance.checks.ordereffect import Effect, Key, Met, effect, met_by
from menus.models import Recipe, Serving


@dataclass(frozen=True, slots=True)
class Exchange:
    """The day of a serving with another dish in its place."""

    now: tuple[Met, ...]  # whom the planned dish concerns
    then: tuple[Met, ...]  # whom the other one would
    beside: Effect  # what changes for the other dishes of the day, by equipment that they share


def exchange(serving: Serving, recipe: Recipe, today: date, at: datetime) -> Exchange:
    """Judge the day of the serving as it is planned, and with the recipe there, by the facts of that moment."""
    day = serving.date
    facts = load(serving.site, day, day, at)
    before = met_by(facts, today, day, day)
    after = met_by(_exchanged(facts, serving, recipe), today, day, day)
    return Exchange(_of(before, serving), _of(after, serving), effect(_but(before, serving), _but(after, serving)))


def with_recipe(serving: Serving, recipe: Recipe) -> Serving:
    """Return the serving as it would be with that dish; the one given stays as it is."""
    other = copy(serving)
    other.recipe = recipe
    return other


def _exchanged(facts: Facts, serving: Serving, recipe: Recipe) -> Facts:
    """The same facts, with the dish exchanged."""
    there = [with_recipe(each, recipe) if each.pk == serving.pk else each for each in facts.servings]
    return replace(facts, servings=there)


def _of(met: Mapping[Key, Met], serving: Serving) -> tuple[Met, ...]:
    return tuple(each for each in met.values() if each.serving.pk == serving.pk)


def _but(met: Mapping[Key, Met], serving: Serving) -> dict[Key, Met]:
    return {key: each for key, each in met.items() if each.serving.pk != serving.pk}
