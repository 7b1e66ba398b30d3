"""Servings whose dish is made of food that changed: what it was, and what it is now."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property

import numpy as np

from compliance.checks.asread import meeting
from compliance.checks.bulk.codes import Codes, outcomes
from compliance.checks.bulk.kitchens import among, circle_of, facts_of
from compliance.checks.bulk.larder import Larder, larder_of
from compliance.checks.bulk.raised import Asked, Dish, Raised
from compliance.checks.bulk.sparse import placed, places
from compliance.checks.bulk.table import Table
from compliance.checks.explain import pieces_of, type_of
from compliance.checks.facts import Facts
from compliance.checks.store import Stored, store_verdicts
from compliance.models import DishVerdicts, Panel, PreparedDish, RestrictionTypeRow
from compliance.rules.values import Outcome
from menus.kitchen.circle import Circle
from menus.kitchen.recipes import Pieces
from menus.lexicon import lexicon_with
from menus.models import Serving, Site

Recipes = Mapping[int, Collection[int]]
"""By site, the ids of the recipes that hold what changed."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One serving: the row of the dish that it is now, and the id of the one that stood."""

    serving: int
    site: int
    day: date
    row: int
    stood: int | None


@dataclass
class Repointed:
    """The servings concerned at some sites of one window and panel, judged again."""

    table: Table
    panel: Panel
    types: list[int]  # ids, column by column
    moved: list[Moved] = field(default_factory=list)

    @classmethod
    def work_out(
        cls, sites: Sequence[Site], recipes: Recipes, panel: Panel, first: date, last: date, at: datetime
    ) -> Repointed:
        """Fold the recipes concerned, judge them for the panel, and say which serving each is at. Some twenty queries.

        Where one of them meets equipment, so is what hangs together with it.
        """
        rows = RestrictionTypeRow.objects.in_bulk(panel.types)
        kitchens = meeting(sites, recipes, at)
        lines = _lines([site for site in sites if site.pk in kitchens], recipes, first, last, at)
        wanted = set[int]().union(*(recipes[site.pk] for site in sites), *(line.recipes for line in lines.values()))
        table = Table(first, last, at, larder_of(wanted, at), {}, [type_of(rows[pk]) for pk in panel.types])
        found = cls(table, panel, list(panel.types))
        by_pk = {site.pk: site for site in sites}
        met = {pk: line.prepared(table) for pk, line in lines.items()}
        planned = Serving.objects.planned().filter(site__in=by_pk, recipe__in=wanted).between(first, last)
        columns = ("pk", "site", "date", "recipe", "recipe__name", "served__dish")
        for serving, site, day, recipe, name, stood in planned.order_by("pk").values_list(*columns):
            if site in met and serving in met[site]:
                row = table.own(by_pk[site], recipe, met[site][serving])
            elif recipe in recipes[site]:
                row = table.shared(by_pk[site], recipe, name, wanted)
            else:
                continue
            found.moved.append(Moved(serving, site, day, row, stood))
        table.judge()
        return found

    @cached_property
    def stored(self) -> Stored:
        """The new dishes and verdicts, written. The caller holds the transaction."""
        return store_verdicts(self.table)

    @cached_property
    def at_site(self) -> dict[int, list[Moved]]:
        """The servings by site."""
        found: dict[int, list[Moved]] = {}
        for each in self.moved:
            found.setdefault(each.site, []).append(each)
        return found

    @cached_property
    def keys(self) -> dict[int, str]:
        """The keys of the dishes that stood, by id."""
        stood = {each.stood for each in self.moved if each.stood}
        return dict(PreparedDish.objects.filter(pk__in=stood).values_list("pk", "key"))

    @cached_property
    def keys_now(self) -> list[str]:
        """The key of each row."""
        return [dish.key for dish in self.table.stored]

    @cached_property
    def codes_before(self) -> dict[int, Codes]:
        """What the dishes that stood were for each column, by id."""
        where = places(self.types)
        rows = DishVerdicts.objects.filter(panel=self.panel, dish__in=self.keys).values_list("dish", "codes")
        return {dish: placed(bytes(stored), where, len(self.types)) for dish, stored in rows}

    def changes(self) -> set[tuple[int, int]]:
        """Return each dish that stood with the row in its place, where they are not the same dish."""
        return {
            (each.stood, each.row)
            for each in self.moved
            if each.stood and self.keys[each.stood] != self.keys_now[each.row]
        }

    def news(self) -> set[int]:
        """Return the ids of the types for which a dish has become something else: with them all of their substances."""
        differ = set[int]()
        for stood, row in self.changes():
            before, now = (_of_consequence(codes) for codes in (self.codes_before[stood], self.table.codes[row]))
            differ |= set(np.flatnonzero(before != now).tolist()) | self.asked_otherwise[stood, row]
        substances = {self.table.types[column].substance for column in differ}
        return {pk for pk, kind in zip(self.types, self.table.types, strict=True) if kind.substance in substances}

    @cached_property
    def asked_otherwise(self) -> dict[tuple[int, int], set[int]]:
        """By dish and row, the columns for which the two leave different questions."""
        return {pair: self._asked_otherwise(*pair) for pair in self.changes()}

    def _asked_otherwise(self, stood: int, row: int) -> set[int]:
        before, now = outcomes(self.codes_before[stood]), outcomes(self.table.codes[row])
        columns = np.flatnonzero((before == Outcome.REFER) | (now == Outcome.REFER)).tolist()
        nothing: Asked = frozenset()
        return {
            column
            for column in columns
            if (self._raised_before.of(stood, column) if before[column] == Outcome.REFER else nothing)
            != (self.table.raised.of(row, column) if now[column] == Outcome.REFER else nothing)
        }

    @cached_property
    def _raised_before(self) -> Raised[int]:
        dishes = PreparedDish.objects.filter(pk__in=self.keys).select_related("recipe").in_bulk()
        return Raised(
            lambda pk: Dish(pieces_of(dishes[pk]), lambda: dishes[pk].recipe.name), self.table.types.__getitem__
        )

    def keep(self, sites: Collection[int]) -> None:
        """Leave out what is served elsewhere."""
        self.moved = [each for each in self.moved if each.site in sites]
        self.table.served = {site: [] for site in sites}
        for each in self.moved:
            self.table.served[each.site].append((each.serving, each.day, each.row))


@dataclass(frozen=True, slots=True)
class _Line:
    """What hangs together with the dishes concerned in one kitchen."""

    facts: Facts
    circle: Circle

    @property
    def recipes(self) -> set[int]:
        """What those dishes are made by."""
        return {self.facts.dishes[pk].recipe_id for pk in self.circle.dishes}

    def prepared(self, table: Table) -> dict[int, Pieces]:
        """Return each of the dishes as prepared, by serving."""
        return among(self.facts, self.circle, table.larder, table.today(self.facts.site))


def _lines(kitchens: Sequence[Site], recipes: Recipes, first: date, last: date, at: datetime) -> dict[int, _Line]:
    if not kitchens:
        return {}
    # What the line is does not depend on the food.
    facts = facts_of(kitchens, Larder({}, [], [], lexicon_with([])), first, last, at)
    return {pk: _Line(each, circle_of(each, recipes[pk])) for pk, each in facts.items()}


def _of_consequence(codes: Codes) -> Codes:
    """Outcomes that people are told of, and nothing of the others."""
    found = outcomes(codes)
    return np.where(found >= Outcome.REFER, found, 0).astype(np.uint32)
