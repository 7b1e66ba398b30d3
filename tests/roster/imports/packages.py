"""Class lists to import: the invented sample, with one cell or file changed."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from menus.imports.plan import ImportPlan
from roster.imports.plan import plan_import
from roster.models import Enrolment

SAMPLES = Path(__file__).parents[2] / "external" / "data" / "oneroster"

Files = dict[str, bytes]
TODAY = date(2026, 10, 13)
CHANGED_AT = "2026-10-12T15:02:11.000Z"


def sample(version: str = "1.1") -> Files:
    """The files of the sample by name."""
    folder = SAMPLES / f"v{version.replace('.', '_')}"
    return {path.name: path.read_bytes() for path in folder.glob("*.csv")}


def rewritten(files: Files, name: str, change: Callable[[list[list[str]]], object]) -> Files:
    """The files with one of them changed: `change` gets its rows, the header first, and alters them in place."""
    rows = list(csv.reader(io.StringIO(files[name].decode(), newline="")))
    change(rows)
    return {**files, name: _written(rows)}


def with_cell(files: Files, name: str, id: str, column: str, value: str) -> Files:
    """The files with one cell of the row of that sourcedId (in a manifest: of that property) set to a value."""

    def change(rows: list[list[str]]) -> None:
        at = rows[0].index(column)
        next(row for row in rows[1:] if row[0] == id)[at] = value

    return rewritten(files, name, change)


def without_row(files: Files, name: str, id: str) -> Files:
    """The files without one row."""
    return rewritten(files, name, lambda rows: rows.remove(next(row for row in rows if row[0] == id)))


def with_row(files: Files, name: str, id: str, **cells: str) -> Files:
    """The files with a copy of one row, some of its cells changed."""

    def change(rows: list[list[str]]) -> None:
        copied = dict(zip(rows[0], next(row for row in rows if row[0] == id), strict=True))
        rows.append([cells.get(column, value) for column, value in copied.items()])

    return rewritten(files, name, change)


def zipped(files: Files, *, folder: str = "") -> io.BytesIO:
    """The files as a zip."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(folder + name, data)
    out.seek(0)
    return out


def changes(version: str = "1.1", **rows: list[dict[str, str]]) -> Files:
    """A package that holds changes only: rows by file, each with the cells that it names; active unless it says so."""
    told = {"status": "active", "dateLastModified": CHANGED_AT}
    whole, files = sample(version), Files()
    for name, cells in rows.items():
        header = whole[f"{name}.csv"].decode().splitlines()[0].split(",")
        table = [header, *([{**told, **row}.get(column, "") for column in header] for row in cells)]
        files[f"{name}.csv"] = _written(table)
    return rewritten(
        {**files, "manifest.csv": whole["manifest.csv"]}, "manifest.csv", lambda found: _given(found, rows)
    )


def _written(rows: list[list[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def _given(manifest: list[list[str]], rows: dict[str, Any]) -> None:
    for row in manifest:
        if row[0].startswith("file."):
            row[1] = "delta" if row[0].removeprefix("file.") in rows else "absent"


def plan(files: Files, **context: Any) -> ImportPlan:
    """The dry run of a package, on a day in October."""
    return plan_import("roster", zipped(files), "roster.zip", **{"today": TODAY} | context)


def told(made: ImportPlan) -> list[tuple[str, int, str]]:
    """Where the problems stand."""
    return [(problem.file, problem.row, problem.field) for problem in made.problems]


def places() -> set[tuple[str, str, str, str]]:
    """Who is enrolled where, from when to when."""
    return {
        (each.child.given_name, each.classroom.name, str(each.starts_on), str(each.ends_on))
        for each in Enrolment.objects.select_related("child", "classroom")
    }


SAMPLE_PLACES = {
    ("Fenna", "Wagtails", "2026-08-24", "None"),
    ("Adisa", "Wagtails", "2026-08-24", "None"),
    ("Mireille", "Wagtails", "2026-08-24", "2026-10-02"),
    ("Mireille", "Swifts", "2026-10-05", "None"),
    ("Jun", "Puddle Room", "2026-09-08", "None"),
    ("Zosia", "Puddle Room", "2026-09-08", "None"),
}
"""Where the sample puts its children."""
