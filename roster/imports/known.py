"""What the source said before: changes are read against it, and after saving it holds what the source says now."""

from __future__ import annotations

from functools import partial
from typing import Any

from menus.imports.draft import Draft
from menus.imports.problem import Unreadable
from menus.imports.sheet import Row
from roster.imports.package import ALWAYS_NEEDED, MANIFEST, Package
from roster.imports.tables import GONE, Tables, modified_at
from roster.models import SourceRow

EARLIER = 0
"""The number of a row that stands in no file of this package."""


def known_tables(source: str) -> Tables:
    """Return what the source said before, its rows numbered EARLIER. One query."""
    tables: Tables = {name: [] for name in ALWAYS_NEEDED}
    for row in SourceRow.objects.filter(source=source):
        tables.setdefault(row.file, []).append(Row(EARLIER, row.cells))
    return tables


def brought_up_to_date(draft: Draft, known: Tables, package: Package, tables: Tables) -> Tables:
    """Return the tables as they are once the package is read: a full file takes the place of a known one.

    Raises Unreadable for changes to what was never given.
    """
    if not any(known.values()):
        raise Unreadable(
            f"The package holds changes only (delta), and no full list of “{package.source}” was imported before.",
            "Import a full package (bulk) of this source first; source.systemCode in the manifest is the same in both.",
            file=MANIFEST,
        )
    return {
        name: _changed(draft, known.get(name, []), tables[name], f"{name}.csv")
        if name in package.deltas
        else tables.get(name, known.get(name, []))
        for name in {**known, **tables}
    }


def _changed(draft: Draft, known: list[Row], changes: list[Row], file: str) -> list[Row]:
    rows = {row.cells["sourcedId"]: row for row in known}
    for change in changes:
        id = change.cells["sourcedId"]
        before = rows.get(id)
        if before and _is_older(change, before):
            what = f"“{id[:40]}” was changed before what is on record, so the row is passed over."
            draft.note(change.number, "dateLastModified", what, file=file)
        elif change.cells["status"] != GONE:
            rows[id] = change
        elif before:
            del rows[id]
        else:
            what = f"“{id[:40]}” is to be deleted and was not known. Nothing is done about it."
            draft.note(change.number, "sourcedId", what, file=file)
    return list(rows.values())


def _is_older(change: Row, before: Row) -> bool:
    mine, theirs = (modified_at(row.cells.get("dateLastModified", "")) for row in (change, before))
    return mine is not None and theirs is not None and mine < theirs


def without_strangers(tables: Tables) -> Tables:
    """Keep the names of children and teachers alone, and addresses of teachers alone: nobody else is needed."""
    teachers, pupils = set[str](), set[str]()
    for row in (*tables["enrollments"], *tables.get("roles", [])):
        {"teacher": teachers, "student": pupils}.get(row.cells["role"], set()).add(row.cells["userSourcedId"])
    users = []
    for row in tables["users"]:
        id, role = row.cells["sourcedId"], row.cells.get("role")
        teaches, learns = id in teachers or role == "teacher", id in pupils or role == "student"
        blank = {} if teaches else {"email": ""}
        blank |= {} if teaches or learns else {"givenName": "", "familyName": ""}
        users.append(Row(row.number, {**row.cells, **blank}))
    return {**tables, "users": users}


def keep_known(draft: Draft, source: str, tables: Tables, *, add_only: bool) -> None:
    """Have the tables kept when the draft is saved; with `add_only` nothing that was known is forgotten."""
    draft.afterwards.append(partial(_keep, source, tables, add_only))


def _keep(source: str, tables: Tables, add_only: bool, user: Any) -> None:
    stand = {(row.file, row.source_id): row for row in SourceRow.objects.filter(source=source)}
    wanted = {(name, row.cells["sourcedId"]): dict(row.cells) for name, rows in tables.items() for row in rows}
    if not add_only:
        gone = [row.pk for key, row in stand.items() if key not in wanted]
        SourceRow.objects.filter(pk__in=gone).delete()
    SourceRow.objects.bulk_create(
        [
            SourceRow(source=source, file=file, source_id=id, cells=cells)
            for (file, id), cells in wanted.items()
            if (file, id) not in stand or stand[file, id].cells != cells
        ],
        update_conflicts=True,
        unique_fields=["source", "file", "source_id"],
        update_fields=["cells"],
    )
