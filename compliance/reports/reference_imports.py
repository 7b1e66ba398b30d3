"""The reference page of imports, written from the kinds of file that are taken in and their columns."""

from __future__ import annotations

from collections.abc import Iterator

from compliance.reports.markdown import table
from menus.imports.kind import Column, Kind
from roster.imports.package import NEEDED, USEFUL
from roster.imports.plan import KINDS
from roster.imports.tables import columns_of

INTRODUCTION = """# Imports

Files are brought in on the page **Imports** or by a [command](commands.md). Every file is tried out first: whatever is
not sound is listed with its row, its column, what is wrong and how to mend it, and while anything is, nothing is saved.

A sheet is CSV (UTF-8, commas) or XLSX; what the file is decides, not its name. The first row names exactly the columns
below, in any order; the page hands out an empty template. Cells are text: a formula is refused. A column that is not
needed may stay empty, and one that *may be missing* may be left out of the file. The examples are invented.

Suppliers' allergen codes come as such a sheet or as JSON-LD in the GS1 Web Vocabulary (`gs1:gtin`, `gs1:hasAllergen`,
`gs1:ingredientStatement`, `gs1:allergenStatement`); then its products are counted in place of rows, from 1. How the
codes are read stands in [suppliers' allergen codes](supplied.md).
"""

CLASS_LIST = """## Class list

A OneRoster package: a zip (or, by command, a folder) of CSV files with `manifest.csv` at its top, each file given as
*bulk* (all there is), *delta* (what changed since) or *absent*. Each file has all the columns of the standard; those
below are read, and the others are left out before anything is stored. Sources stand in
`roster/imports/data/columns.csv`.

The files marked as needed must be in a full package. Changes need a full package of the same source before them; each
row then has a `status` (`active` or `tobedeleted`) and the moment of its change, and a row older than what is known is
passed over. What a list does to people is told before anything is saved: see [class lists](../how-to/roster.md).
"""


def imports_page() -> str:
    """Return the page: every kind of sheet with its columns, then the files of a class list."""
    return "\n".join([INTRODUCTION, *map(_sheet, KINDS.values()), CLASS_LIST, *_packages()])


def _sheet(kind: Kind) -> str:
    rows = [(f"`{column.name}`", _needed(column), column.help, column.example) for column in kind.columns]
    return f"## {kind.title}\n\n{table(('Column', 'Needed', 'What it holds', 'Example'), rows)}"


def _needed(column: Column) -> str:
    if column.omissible:
        return "may be missing"
    return "yes" if column.required else ""


def _packages() -> Iterator[str]:
    for version, needed in NEEDED.items():
        rows = [
            (f"`{name}.csv`", "yes" if name in needed else "", _columns(version, name)) for name in (*needed, *USEFUL)
        ]
        yield f"### OneRoster {version}\n\n{table(('File', 'Needed', 'Columns read'), rows)}"


def _columns(version: str, name: str) -> str:
    columns = columns_of(version, name)
    return ", ".join(f"`{column}`" for column in columns.all if column in columns.read)
