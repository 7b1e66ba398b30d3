"""Recipes out of a sheet: one row a line, the rows of a recipe told by its code."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import validate_slug
from django.utils import timezone

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft
from menus.imports.kind import Column, Kind
from menus.imports.recipe_order import untangle
from menus.imports.sheet import Row
from menus.imports.units import known_unit, likely_unit
from menus.models import Product, Recipe, RecipeVersion
from menus.services.recipes import Line, record_recipe

COLUMNS = (
    Column("recipe", "Short name of the dish: letters, digits, hyphens. It stands in each of its rows.", "chili", True),
    Column("name", "What the menu calls it. Needed in its first row.", "Bean chili"),
    Column("servings", "How many portions the lines make. Needed in its first row.", "50"),
    Column(
        "texture",
        "Level as made: 0 to 4 for drink, 3 to 7 for food. Empty: not stated, so it is asked.",
        omissible=True,
    ),
    Column("product", "Code of a product. Fill in either this or sub_recipe.", "B-1020"),
    Column("sub_recipe", "Short name of another recipe, of this file or recorded.", "tomato-sauce"),
    Column("quantity", "How much of it, with a decimal point.", "2.5", True),
    Column("unit", "kg, g, lb, oz, l, ml, cup, each, slice …", "kg", True),
    Column("note", "Anything the cook should know: “drained”, “diced small”.", "drained"),
)


@dataclass(frozen=True, slots=True)
class _Line:
    row: int
    product: str
    sub_recipe: str
    quantity: Decimal
    unit: str
    note: str

    @property
    def said(self) -> tuple[str, str, Decimal, str, str]:
        """What the line says, wherever it stands."""
        return self.product, self.sub_recipe, self.quantity, self.unit, self.note


@dataclass(slots=True)
class _Wanted:
    row: int
    code: str
    name: str
    servings: int
    texture: int | None
    lines: list[_Line] = field(default_factory=list)


def draft_recipes(rows: Sequence[Row]) -> Draft:
    """Draft new recipes and new versions of those whose lines, servings, texture or name changed. Four queries."""
    draft = Draft()
    products = set(Product.objects.for_kitchen().values_list("code", flat=True))
    names = dict(Recipe.objects.values_list("code", "name"))
    codes = {row.cells["recipe"] for row in rows} | names.keys()
    wanted: dict[str, _Wanted] = {}
    for row in rows:
        _read(Cells(row, draft), wanted, products, codes)
    versions = _current()
    order = _ordered(draft, wanted, versions, names)
    if not draft.problems:
        for want in wanted.values():
            _draft_name(draft, want, names)
        for code in order:
            _draft_version(draft, wanted[code], versions.get(code))
    return draft


RECIPES = Kind("recipes", "Recipes", COLUMNS, draft_recipes)


def _read(cells: Cells, wanted: dict[str, _Wanted], products: set[str], codes: set[str]) -> None:
    code = _code(cells)
    line = _line(cells, products, codes)
    if code not in wanted:
        wanted[code] = _Wanted(
            cells.row,
            code,
            cells.text("name", longest=160, required=True),
            cells.whole("servings", low=1, high=100_000),
            cells.whole("texture", low=0, high=7) if cells.raw("texture") else None,
        )
    else:
        _same_as_first(cells, wanted[code])
    wanted[code].lines.append(line)


def _code(cells: Cells) -> str:
    code = cells.text("recipe", longest=50, required=True)
    if code:
        try:
            validate_slug(code)
        except ValidationError:
            cells.refuse(
                "recipe", f"“{code[:50]}” is no short name.", "Use letters, digits, hyphens and underscores only."
            )
    return code


def _same_as_first(cells: Cells, first: _Wanted) -> None:
    level = "" if first.texture is None else str(first.texture)
    for column, told in (("name", first.name), ("servings", str(first.servings)), ("texture", level)):
        if cells.raw(column) not in ("", told):
            cells.refuse(
                column,
                f"Row {first.row} gives “{told}” for the same recipe.",
                "Write the same in all its rows, or leave it empty below the first.",
            )


def _line(cells: Cells, products: set[str], codes: set[str]) -> _Line:
    product, sub_recipe = cells.raw("product"), cells.raw("sub_recipe")
    if bool(product) == bool(sub_recipe):
        said = "Both product and sub_recipe are" if product else "Neither product nor sub_recipe is"
        cells.refuse("product", f"{said} filled in.", "Fill in exactly one of the two.")
    elif product and product not in products:
        cells.refuse(
            "product", f"No product has the code “{product[:40]}”.", "Import the product first, or mend the code."
        )
    elif sub_recipe and sub_recipe not in codes:
        cells.refuse(
            "sub_recipe",
            f"No recipe is called “{sub_recipe[:50]}”, here or in the records.",
            "Add its rows to the file, or mend the name.",
        )
    return _Line(
        cells.row, product, sub_recipe, cells.quantity("quantity"), _unit(cells), cells.text("note", longest=120)
    )


def _unit(cells: Cells) -> str:
    unit = cells.text("unit", longest=20, required=True)
    if unit and not known_unit(unit):
        likely = likely_unit(unit)
        hint = f"Is “{likely}” meant? " if likely else ""
        cells.refuse(
            "unit", f"“{unit[:20]}” is not a unit known here.", f"{hint}Units are g, kg, ml, l, oz, lb, cup, each …"
        )
    return unit


def _current() -> dict[str, RecipeVersion]:
    current = RecipeVersion.objects.current(timezone.now()).select_related("recipe")
    lines = current.prefetch_related("lines__product", "lines__sub_recipe")
    return {version.recipe.code: version for version in lines}


def _ordered(
    draft: Draft, wanted: dict[str, _Wanted], versions: dict[str, RecipeVersion], names: dict[str, str]
) -> list[str]:
    """Return the codes with every recipe after those that it holds; a cycle is a problem of the row that closes it."""
    graph = {
        code: [line.sub_recipe.code for line in version.lines.all() if line.sub_recipe]
        for code, version in versions.items()
    }
    graph |= {code: [line.sub_recipe for line in want.lines if line.sub_recipe] for code, want in wanted.items()}
    called = names | {code: want.name for code, want in wanted.items()}
    circles, order = untangle(graph, wanted)
    for path in circles:
        row = next(line.row for line in wanted[path[0]].lines if line.sub_recipe == path[1])
        draft.refuse(
            row,
            "sub_recipe",
            f"The recipe would hold itself: {' → '.join(called.get(code) or code for code in path)}.",
            "Take one of these out of the other.",
        )
    return [code for code in order if code in wanted]


def _draft_name(draft: Draft, want: _Wanted, names: dict[str, str]) -> None:
    if want.code not in names:
        draft.step(Action.CREATE, "recipe", want.code, want.name, lambda user: _write_name(want))
    elif names[want.code] != want.name:
        detail = f"“{names[want.code]}” → “{want.name}”"
        draft.step(Action.CHANGE, "recipe", want.code, detail, lambda user: _write_name(want))
    else:
        draft.keep("recipe")


def _write_name(want: _Wanted) -> None:
    recipe = Recipe.objects.filter(code=want.code).first() or Recipe(code=want.code)
    recipe.name = want.name
    recipe.full_clean()
    recipe.save()


def _draft_version(draft: Draft, want: _Wanted, version: RecipeVersion | None) -> None:
    said = [line.said for line in want.lines]
    same = version and (version.servings, version.texture) == (want.servings, want.texture)
    if version and same and list(_recorded(version)) == said:
        draft.keep("recipe version")
        return
    level = "" if want.texture is None else f", texture level {want.texture}"
    detail = f"{want.servings} servings of {'; '.join(map(_words, want.lines))}{level}"
    action = Action.CHANGE if version else Action.CREATE
    draft.step(action, "recipe version", want.code, detail, lambda user: _write_version(want))


def _words(line: _Line) -> str:
    return f"{line.quantity:f} {line.unit} {line.product or line.sub_recipe} {line.note}".strip()


def _recorded(version: RecipeVersion) -> Iterator[tuple[str, str, Decimal, str, str]]:
    for line in version.lines.all():
        product = line.product.code if line.product else ""
        yield product, line.sub_recipe.code if line.sub_recipe else "", line.quantity, line.unit, line.note


def _write_version(want: _Wanted) -> None:
    products = Product.objects.in_bulk([line.product for line in want.lines if line.product], field_name="code")
    recipes = Recipe.objects.in_bulk([want.code, *(line.sub_recipe for line in want.lines)], field_name="code")
    lines = [
        Line(line.quantity, line.unit, products.get(line.product), recipes.get(line.sub_recipe), line.note)
        for line in want.lines
    ]
    record_recipe(recipe=recipes[want.code], servings=want.servings, lines=lines, texture=want.texture)
