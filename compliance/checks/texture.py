"""Levels of texture where food is handed out: who needs which level, and what each dish states of its own.

A note beside the verdicts, never one of them: it is read when a page or a sheet is made.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from django.db.models import F

from compliance.rules.values import Outcome
from menus.mealpattern.textures import Fits, Wanted, wanted
from menus.models import RecipeVersion, Serving
from roster.life.texture import textures_of
from roster.models import Child, Enrolment, TextureLevel

GRAVEST = (Fits.UNKNOWN, Fits.ABOVE, Fits.OTHER)
"""What is said of one dish, in this order; a child for whom two of them hold is named with the first."""


@dataclass(frozen=True, slots=True)
class Need:
    """The levels set for one child that a dish is not stated to have."""

    child: int
    wanted: tuple[Wanted, ...]

    @property
    def fits(self) -> Fits:
        """How the dish stands to them."""
        return min((each.fits for each in self.wanted), key=GRAVEST.index)


@dataclass(frozen=True, slots=True)
class DishTexture:
    """What one dish states, and the children for whom that is not what was set."""

    stated: int | None
    needs: tuple[Need, ...]

    def without(self, children: Collection[int]) -> DishTexture:
        """The same for all but these, who do not get the dish."""
        return DishTexture(self.stated, tuple(need for need in self.needs if need.child not in children))

    @property
    def by_fit(self) -> list[tuple[Fits, list[Need]]]:
        """The needs by how the dish stands to them."""
        grouped = ((fit, [need for need in self.needs if need.fits is fit]) for fit in GRAVEST)
        return [(fit, needs) for fit, needs in grouped if needs]


def levels_asked(children: Iterable[int], at: datetime) -> dict[int, TextureLevel]:
    """Return by child the levels that ask for anything but ordinary food and thin drink. One query."""
    return {pk: level for pk, level in textures_of(children, at).items() if level.asks}


def levels_by_site(sites: Collection[int], day: date, at: datetime) -> dict[int, dict[int, TextureLevel]]:
    """Return the same by site and child, for those who are there on that day, each with its child. One query."""
    stays = Enrolment.objects.on(day).filter(classroom__site__in=sites)
    there = TextureLevel.objects.standing(at).filter(child__enrolments__in=stays).select_related("child")
    found: dict[int, dict[int, TextureLevel]] = {}
    for level in there.annotate(at_site=F("child__enrolments__classroom__site")):
        if level.asks:
            found.setdefault(level.at_site, {})[level.child_id] = level  # type: ignore[attr-defined]  # annotated above
    return found


def dish_textures(
    servings: Iterable[Serving], by_site: Mapping[int, Mapping[int, TextureLevel]], at: datetime
) -> dict[int, DishTexture]:
    """Return what each serving asks of whoever prepares it, by its id; nothing for one that asks nothing.

    One query, none where no child has a level that asks. A recipe counts as it stands at that moment.
    """
    concerned = [serving for serving in servings if by_site.get(serving.site_id)]
    stated = stated_levels({serving.recipe_id for serving in concerned}, at)
    found = {serving.pk: dish_texture(by_site[serving.site_id], stated.get(serving.recipe_id)) for serving in concerned}
    return {pk: dish for pk, dish in found.items() if dish.needs}


def dish_texture(asked: Mapping[int, TextureLevel], stated: int | None) -> DishTexture:
    """Return what a dish of that stated level, or of none, asks for these children."""
    needs = (Need(child, wanted(level.food_level, level.drink_level, stated)) for child, level in asked.items())
    return DishTexture(stated, tuple(need for need in needs if need.wanted))


def stated_levels(recipes: Collection[int], at: datetime) -> dict[int, int]:
    """Return the level of each of these recipes that states one. One query, none without recipes."""
    if not recipes:
        return {}
    current = RecipeVersion.objects.current(at).filter(recipe__in=recipes).order_by()
    return {recipe: level for recipe, level in current.values_list("recipe", "texture") if level is not None}


class Outcomes(Protocol):
    """A child who meets a dish with an outcome: an exception, or what an order of work comes to."""

    @property
    def serving(self) -> Serving: ...

    @property
    def child(self) -> Child: ...

    @property
    def outcome(self) -> Outcome: ...


def withheld_from(rows: Iterable[Outcomes]) -> dict[int, set[int]]:
    """Return by serving the children from whom it is withheld: nothing is prepared for them."""
    found: dict[int, set[int]] = {}
    for row in rows:
        if row.outcome is Outcome.WITHHOLD:
            found.setdefault(row.serving.pk, set()).add(row.child.pk)
    return found
