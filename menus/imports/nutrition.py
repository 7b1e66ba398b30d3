"""What products hold, out of a sheet: a label's panel, or the row of the table of foods that a product is like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import partial
from typing import Any

from django.utils import timezone

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft, doubles
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.mealpattern.nutrients.foods import table
from menus.models import Product, ProductNutrition
from menus.models.nutrition import NUTRIENTS
from menus.services.nutrition import MEASURES, record_panel, record_table_food

COLUMNS = (
    Column("code", "Your own item number of a product on record.", "B-1020", True),
    Column("ndb_no", "NDB number of the food that it is like (USDA, release 28). Empty: the row is its label's panel."),
    Column("basis_g", "Grams that the figures are for, such as a serving. Needed with a label's panel.", "56"),
    Column("piece_g", "What one piece, slice, half pint or can weighs. Empty: not known.", "56"),
    Column("cup_g", "What a cup weighs. Empty: not known."),
    Column("edible", "Share of the weight in recipes that is eaten, such as 0.83 with a core. Empty: all of it."),
    Column("energy_kcal", "Calories. In this and what follows an empty cell is not stated, and 0 is none.", "150"),
    Column("saturated_fat_g", "Grams.", "0.5"),
    Column("sodium_mg", "Milligrams.", "230"),
    Column("total_sugars_g", "Grams of all sugars.", "4"),
    Column("added_sugars_g", "With an NDB number too, then in 100 g: the table has none.", "3"),
    Column("protein_g", "Grams.", "6"),
)
MOST = Decimal(100_000)
BESIDE_THE_TABLE = frozenset({"added_sugars_g"})


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says of a product."""

    code: str
    ndb_no: str
    basis_g: Decimal | None
    measures: dict[str, Decimal | None]
    stated: dict[str, Decimal | None]

    @property
    def words(self) -> str:
        """All of it, for who looks before saving."""
        what = f"NDB {self.ndb_no}" if self.ndb_no else f"in {self.basis_g} g"
        figures = {**self.stated, **self.measures}
        return ", ".join([what, *(f"{name} {value}" for name, value in figures.items() if value is not None)])


def draft_nutrition(rows: Sequence[Row]) -> Draft:
    """Draft a new version for each product whose figures on record are others. Two queries, however many rows."""
    draft = Draft()
    said = {row.number: each for row in rows if (each := _read(Cells(row, draft)))}
    for number, other in doubles((number, each.code) for number, each in said.items()).items():
        draft.refuse(number, "code", f"Row {other} is about the same product.", "Keep one row for each product.")
    products = {each.code: each for each in Product.objects.for_kitchen().filter(code__in=_codes(said))}
    newest = ProductNutrition.objects.current(timezone.now()).filter(product__in=products.values())
    held = {row.product_id: row for row in newest}
    for number, each in said.items():
        product = products.get(each.code)
        if product is None:
            what = f"No product on record has the code “{each.code[:40]}”."
            draft.refuse(number, "code", what, "Import the product first, or mend the code.")
        else:
            _draft_row(draft, each, product, held.get(product.pk))
    return draft


NUTRITION = Kind("nutrition", "Nutrition of products", COLUMNS, draft_nutrition)


def _codes(said: dict[int, Said]) -> list[str]:
    return [each.code for each in said.values()]


def _read(cells: Cells) -> Said | None:
    code = cells.text("code", longest=40, required=True)
    ndb_no = cells.text("ndb_no", longest=5)
    figures = {name: _figure(cells, name) for name in ("basis_g", *MEASURES, *NUTRIENTS)}
    stated = {name: figures[name] for name in NUTRIENTS}
    if ndb_no:
        _check_table_row(cells, ndb_no, stated)
    else:
        _check_panel(cells, figures["basis_g"], stated)
    if figures["edible"] is not None and not 0 < figures["edible"] <= 1:
        cells.refuse("edible", f"{figures['edible']} is no share.", "Write a number above 0, up to 1, such as 0.83.")
    measures = {name: figures[name] for name in MEASURES}
    return Said(code, ndb_no, figures["basis_g"], measures, stated) if cells.sound else None


def _check_table_row(cells: Cells, ndb_no: str, stated: dict[str, Decimal | None]) -> None:
    if ndb_no not in table():
        mend = "Copy the label's panel into the row instead, without a number."
        cells.refuse("ndb_no", f"“{ndb_no}” is not in the table of foods here.", mend)
    for name, value in stated.items():
        if value is not None and name not in BESIDE_THE_TABLE:
            mend = "Empty this cell to take the table's figure, or empty ndb_no to take the label's."
            cells.refuse(name, "The row gives a figure of its own beside a food of the table.", mend)


def _check_panel(cells: Cells, basis: Decimal | None, stated: dict[str, Decimal | None]) -> None:
    if not basis and cells.sound:
        cells.refuse("basis_g", "Nobody can tell for how many grams the figures are.", "Write the serving in grams.")
    if cells.sound and all(value is None for value in stated.values()):
        cells.refuse("energy_kcal", "The row states nothing.", "Copy the panel into the row, or give an NDB number.")


def _figure(cells: Cells, name: str) -> Decimal | None:
    text = cells.raw(name)
    if not text:
        return None
    try:
        figure = Decimal(text)
    except InvalidOperation:
        figure = Decimal(-1)
    if figure.is_finite() and 0 <= figure <= MOST and figure == round(figure, 3):
        return figure
    what = f"“{text[:40]}” is not a number from 0 to {MOST:,} with at most three decimals."
    cells.refuse(name, what, "Write it with a point and without its unit; leave it empty where it is not stated.")
    return None


def _draft_row(draft: Draft, said: Said, product: Product, held: ProductNutrition | None) -> None:
    if held and _same(said, held):
        draft.keep("nutrition")
        return
    action = Action.CHANGE if held else Action.CREATE
    draft.step(action, "nutrition", said.code, said.words, partial(_write, said, product))


def _same(said: Said, held: ProductNutrition) -> bool:
    if held.ndb_no != said.ndb_no or any(_wanted(said, name) != getattr(held, name) for name in MEASURES):
        return False
    if said.ndb_no:
        return all(getattr(held, name) == said.stated[name] for name in BESIDE_THE_TABLE)
    return held.basis_g == said.basis_g and all(getattr(held, name) == said.stated[name] for name in NUTRIENTS)


def _wanted(said: Said, measure: str) -> Decimal | None:
    return Decimal(1) if measure == "edible" and said.measures[measure] is None else said.measures[measure]


def _write(said: Said, product: Product, user: Any) -> None:
    if said.ndb_no:
        record_table_food(
            product=product, ndb_no=said.ndb_no, stated=said.stated, measures=said.measures, recorded_by=user
        )
        return
    assert said.basis_g is not None  # as a panel has one
    record_panel(product=product, basis_g=said.basis_g, stated=said.stated, measures=said.measures, recorded_by=user)
