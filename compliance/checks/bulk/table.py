"""The verdicts of some sites: a row of codes for each dish as prepared, a column for each restriction type."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import Any

import numpy as np

from compliance.checks.bulk.atoms import Atoms
from compliance.checks.bulk.attending import There, there
from compliance.checks.bulk.codes import ATOM_BITS, Codes, outcomes
from compliance.checks.bulk.judge import judge_many
from compliance.checks.bulk.larder import Larder
from compliance.checks.bulk.raised import Dish, Raised
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.sums import Sums, added, digest_of, dish_line, serving_line
from compliance.checks.codec import fingerprint, type_json
from compliance.checks.packed import Packed, packed
from compliance.checks.prepare import unknown
from compliance.rules.values import Outcome, RestrictionType
from menus.kitchen.recipes import Pieces
from menus.models import Recipe, Site

Served = tuple[int, date, int]
"""A serving, its day, and the row of its dish."""


@dataclass
class Table:
    """What some sites serve between two days, both included, and what it is for the restriction types held there."""

    first: date
    last: date
    at: datetime
    larder: Larder
    spans: dict[int, list[Span]]  # by site
    types: list[RestrictionType]  # columns
    recipes: list[int] = field(default_factory=list)  # of each dish
    dishes: list[Pieces] = field(default_factory=list)  # rows
    served: dict[int, list[Served]] = field(default_factory=dict)  # by site
    inputs: dict[int, dict[str, Any]] = field(default_factory=dict)  # by site: ids of what was read beside the food
    atoms: Atoms = field(default_factory=Atoms)
    held: list[list[int]] = field(default_factory=list)  # of each dish the atom of each piece, by number
    codes: Codes = field(default_factory=lambda: np.zeros((0, 0), dtype=np.uint32))
    _rows: dict[object, int] = field(default_factory=dict)

    def today(self, site: Site) -> date:
        """The site's day on which the check is made."""
        return self.at.astimezone(site.zone).date()

    def shared(self, site: Site, recipe: int, name: str, wanted: Iterable[int]) -> int:
        """Return the row of a recipe as it is folded, which is the same for all sites under one law."""
        key = (site.jurisdiction, self.today(site), recipe)
        if key not in self._rows:
            folded = self.larder.folded(site, self.today(site), wanted)
            # A dish of which the labels name nothing that we know has no pieces, and was read all the same.
            self._rows[key] = self._add(recipe, folded[recipe] if recipe in folded else unknown(name))
        return self._rows[key]

    def own(self, site: Site, recipe: int, pieces: Pieces) -> int:
        """Return the row of a dish as prepared at that site."""
        folded = self.larder.folded(site, self.today(site), ()).get(recipe)
        if folded is pieces:
            return self.shared(site, recipe, "", ())
        key = (recipe, pieces)
        if key not in self._rows:
            self._rows[key] = self._add(recipe, pieces)
        return self._rows[key]

    def _add(self, recipe: int, pieces: Pieces) -> int:
        self.recipes.append(recipe)
        self.dishes.append(pieces)
        return len(self.dishes) - 1

    def judge(self) -> None:
        """Judge every dish for every type."""
        self.held = [self.atoms.each(pieces) for pieces in self.dishes]
        self.codes = judge_many(self.dishes, self.types, self.atoms, [sorted(set(held)) for held in self.held])

    @cached_property
    def columns(self) -> dict[RestrictionType, int]:
        """Where each type stands."""
        return {kind: column for column, kind in enumerate(self.types)}

    @cached_property
    def type_keys(self) -> list[str]:
        """The fingerprint of each type, as it is stored."""
        return [fingerprint(type_json(kind)) for kind in self.types]

    @cached_property
    def raised(self) -> Raised[int]:
        """What the dishes leave to ask about, by row and column."""
        return Raised(self.dish, self.types.__getitem__)

    def dish(self, row: int) -> Dish:
        """Return what there is to know of a dish."""
        return Dish(self.dishes[row], lambda: self.names[self.recipes[row]])

    @cached_property
    def there(self) -> There:
        """On which days the children with restrictions attend the sites. One query."""
        return there(self.served, self.first, self.last)

    @cached_property
    def names(self) -> dict[int, str]:
        """What the recipes of the dishes are called. One query."""
        return dict(Recipe.objects.filter(pk__in=set(self.recipes)).values_list("pk", "name"))

    @cached_property
    def stored(self) -> list[Packed]:
        """Each dish as it is stored."""
        versions = {recipe: facts.version for recipe, facts in self.larder.recipes.items()}
        return [
            packed(recipe, versions.get(recipe), pieces)
            for recipe, pieces in zip(self.recipes, self.dishes, strict=True)
        ]

    def pointed(self, row: int) -> Codes:
        """Return the row's codes with what said so told by its place among the stored pieces, from 1 on."""
        held = np.asarray(self.held[row], dtype=np.uint32)
        order = np.asarray(self.stored[row].order, dtype=np.intp)
        place = np.zeros(len(self.atoms) + 1, dtype=np.uint32)
        # From the last to the first: of pieces with the same atom the first is pointed at.
        place[held[order[::-1]]] = np.arange(len(order), 0, -1, dtype=np.uint32)
        codes = self.codes[row]
        numbers = codes & np.uint32((1 << ATOM_BITS) - 1)
        pointed: Codes = (codes ^ numbers) | place[numbers]
        return pointed

    def sums_of(self, site: int) -> Sums:
        """Return the fingerprint of a site's result in parts."""
        keys = {row: self.stored[row].key for _, _, row in self.served[site]}
        # Two rows may hold the same pieces in another order: what is stored is one dish.
        different = {key: row for row, key in keys.items()}
        columns = sorted({self.columns[span.type] for span in self.spans[site]}, key=self.type_keys.__getitem__)
        said = self.codes[np.ix_(list(different.values()), columns)]
        return Sums(
            served=added(serving_line(serving, keys[row]) for serving, _, row in self.served[site]),
            said=added(dish_line(key, codes) for key, codes in zip(different, said, strict=True)),
            children=digest_of(
                f"{span.restriction} {self.type_keys[self.columns[span.type]]} {span.first} {span.last}"
                for span in self.spans[site]
            ),
        )

    def hash_of(self, site: int) -> str:
        """Return the fingerprint of a site's result: what is served, what was judged, for whom."""
        return self.sums_of(site).hash

    def counts_of(self, site: int) -> dict[str, Any]:
        """Return how much a site's check looked at, and how many verdicts stand at each outcome."""
        rows = sorted({row for _, _, row in self.served[site]})
        columns = sorted({self.columns[span.type] for span in self.spans[site]})
        codes = self.codes[np.ix_(rows, columns)]
        found = np.bincount(outcomes(codes[codes > 0]), minlength=len(Outcome))
        return {
            "servings": len(self.served[site]),
            "dishes": len(rows),
            "types": len(columns),
            "children": len({span.child for span in self.spans[site]}),
            "verdicts": {outcome.code: int(found[outcome]) for outcome in Outcome},
        }
