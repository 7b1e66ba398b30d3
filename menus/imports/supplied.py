"""Suppliers' allergen codes out of a sheet or JSON-LD, put beside what the package of the product says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from django.utils import timezone

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft
from menus.imports.gtins import read_gtin
from menus.imports.jsonld import read_products
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.imports.supplied_merge import merged
from menus.labels.label import LONGEST_LABEL
from menus.labels.supplied.codes import bare_code, is_code
from menus.labels.supplied.faults import faults
from menus.labels.supplied.levels import bare_level
from menus.labels.supplied.rows import INGREDIENTS, STATEMENT, line_of, written_alike
from menus.models import Label, Product
from menus.services.labels import TEXTS, record_supplied


@dataclass(slots=True)
class _Stated:
    """What the file says of one product."""

    cells: Cells  # of its first row, where notes on the whole of it are put
    lines: list[str] = field(default_factory=list)


def draft_supplied(rows: Sequence[Row]) -> Draft:
    """Draft the label versions that carry the codes. Words and day of a recorded label stay as they are.

    Two queries, however many rows.
    """
    draft = Draft()
    stated: dict[str, _Stated] = {}
    for row in rows:
        cells = Cells(row, draft)
        gtin, lines = _gtin(cells), list(_lines(cells))
        if cells.sound:
            stated.setdefault(gtin, _Stated(cells)).lines.extend(lines)
    held = {product.gtin: product for product in Product.objects.filter(gtin__in=stated).with_label(timezone.now())}
    for gtin, said in stated.items():
        if gtin in held:
            _draft_label(draft, held[gtin], said)
        else:
            said.cells.note(
                "gtin",
                f"No product here has the number {gtin}, so what the file says of it is left out.",
                "If the kitchen buys it, record the product and import the file again.",
            )
    return draft


SUPPLIED = Kind(
    "supplied",
    "Suppliers' allergen codes",
    (
        Column("gtin", "The digits under the bars, as text so that zeros in front stay.", "09506000134352", True),
        Column("product_name", "For whoever reads the file; the recorded name stays.", omissible=True),
        Column("allergen_type_code", "GS1 allergen type code, short or long. One row for each allergen.", "AM", True),
        Column("level_of_containment_code", "CONTAINS, MAY_CONTAIN, FREE_FROM … Empty: counts as unknown.", "CONTAINS"),
        Column("spec_agency", "Whose rules the supplier goes by.", "US", omissible=True),
        Column("spec_name", "Which rules.", "FALCPA and FASTER", omissible=True),
        Column("last_change", "The day of this statement, YYYY-MM-DD.", "2026-09-30", omissible=True),
        Column(
            "ingredient_statement",
            "The supplier's list of ingredients. It never stands for the package's.",
            omissible=True,
        ),
        Column("allergen_statement", "The supplier's sentence on allergens.", "May contain sesame.", omissible=True),
    ),
    draft_supplied,
    sheet=read_products,
)


def _gtin(cells: Cells) -> str:
    if not cells.raw("gtin"):
        cells.refuse("gtin", "The number is missing.", "Without it nobody can tell which product is meant: add it.")
    return read_gtin(cells)


def _lines(cells: Cells) -> Iterator[str]:
    """The row as it is stored: the allergen, then the supplier's sentences."""
    code, level = bare_code(cells.raw("allergen_type_code")), bare_level(cells.raw("level_of_containment_code"))
    said = {STATEMENT: cells.raw("allergen_statement"), INGREDIENTS: cells.raw("ingredient_statement")}
    if code and not is_code(code):
        cells.refuse(
            "allergen_type_code", f"“{code[:40]}” is no GS1 allergen code.", "Write a code such as AM or MILK."
        )
    elif code:
        day = cells.day("last_change")
        line = line_of(code, level, f"{cells.raw('spec_agency')} {cells.raw('spec_name')} {day or ''}")
        for fault in faults(line):
            cells.note("level_of_containment_code" if fault.is_grave else "allergen_type_code", fault.what, fault.mend)
        yield line
    elif level or not any(said.values()):
        cells.refuse("allergen_type_code", "The row names no allergen.", "Give the code, or take the row out.")
    for marker, words in said.items():
        if words:
            yield f"{marker} {' '.join(words.split())}"


def _draft_label(draft: Draft, product: Product, said: _Stated) -> None:
    newest = product.current_labels[0] if product.current_labels else None
    recorded = written_alike(newest.supplied if newest else "")
    found = merged(recorded, "\n".join(said.lines))
    for what, mend in found.notes:
        said.cells.note("", what, mend)
    if found.text == recorded:
        draft.keep("label")
        return
    if _length(newest, found.text) > LONGEST_LABEL:
        said.cells.refuse("", f"With these codes the label has more than {LONGEST_LABEL:,} characters.", _SHORTEN)
        return
    draft.step(
        Action.CHANGE if newest else Action.CREATE,
        "label",
        product.name,
        _detail(newest, recorded, found.text),
        lambda user: record_supplied(product=product, supplied=found.text, seen_by=user),
    )


def _detail(newest: Label | None, recorded: str, text: str) -> str:
    """What is new and what it replaces, and beside which label version it is put."""
    was, now = recorded.splitlines(), text.splitlines()
    added, gone = (
        "; ".join(line for line in lines if line not in others) for lines, others in ((now, was), (was, now))
    )
    where = f"beside label {newest.number}" if newest else "nobody has read the package yet"
    return f"{added}{f' instead of {gone}' if gone else ''} ({where})"


_SHORTEN = "Leave out allergens that the supplier is free from: they change nothing."


def _length(newest: Label | None, supplied: str) -> int:
    words = sum(len(getattr(newest, part)) for part in TEXTS if part != "supplied") if newest else 0
    return words + len(supplied)
