"""Rows of enrollments.csv: which child is in which class, and who teaches it, from when to when."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from menus.imports.cells import Cells
from menus.imports.draft import Draft
from menus.imports.sheet import Row
from roster.imports.snapshot import Place, Snapshot, Teaching
from roster.imports.tables import Tables

FILE = "enrollments.csv"
ROLES = {"administrator", "proctor", "student", "teacher"}
DAY = timedelta(days=1)


def read_enrolments(
    draft: Draft,
    snapshot: Snapshot,
    tables: Tables,
    starts: Mapping[str, date],
    *,
    today: date,
    last_day_counts: bool,
) -> None:
    """Put the children's places and the teachers' classes into the snapshot; a bad row becomes a problem instead.

    `starts` is the first day of each class by its term. A row of an earlier file that the source has since cut off
    from its person or class goes with them, with a note.
    """
    known = {
        "userSourcedId": ("users.csv", {row.cells["sourcedId"]: row for row in tables["users"]}),
        "classSourcedId": ("classes.csv", {row.cells["sourcedId"]: row for row in tables["classes"]}),
    }
    for row in tables["enrollments"]:
        cells = Cells(row, draft, file=FILE)
        if not _is_joined(cells, row, known):
            continue
        role, room = row.cells["role"], row.cells["classSourcedId"]
        if role not in ROLES and not role.startswith("ext:"):
            cells.refuse(
                "role", f"“{role[:40]}” is no role of an enrolment.", f"Use one of: {', '.join(sorted(ROLES))}."
            )
        starts_on, ends_on = cells.day("beginDate") or starts.get(room), cells.day("endDate")
        if role not in {"student", "teacher"} or room not in snapshot.rooms or not cells.sound:
            continue
        if role == "teacher":
            starts_on = starts_on or today
        _check_dates(cells, starts_on, ends_on)
        if not last_day_counts and ends_on:
            ends_on -= DAY
        if not (cells.sound and starts_on) or (ends_on and ends_on < starts_on):
            continue
        user = known["userSourcedId"][1][row.cells["userSourcedId"]]
        if role == "student":
            snapshot.places.append(Place(row.number, room, user.cells["sourcedId"], starts_on, ends_on))
        elif user.cells.get("enabledUser") != "false":
            snapshot.teaching.append(_teaching(row, user, starts_on, ends_on))


def _is_joined(cells: Cells, row: Row, known: Mapping[str, tuple[str, Mapping[str, Row]]]) -> bool:
    for column, (file, rows) in known.items():
        id = row.cells[column]
        if id in rows:
            continue
        if not row.number:
            cells.note(
                column, f"The source took “{id[:40]}” back, so the enrolment “{row.cells['sourcedId'][:40]}” goes."
            )
            return False
        what = f"“{id[:40]}” is not in {file}, or its row there is not sound."
        cells.refuse(column, what, "Export both files together, or mend that row.")
    return True


def _check_dates(cells: Cells, starts_on: date | None, ends_on: date | None) -> None:
    if starts_on is None:
        mend = "Give the first day, or export academicSessions.csv with the class's term."
        cells.refuse("beginDate", "Nothing says on which day the child begins.", mend)
    elif ends_on and ends_on < starts_on:
        cells.refuse("endDate", f"The enrolment ends on {ends_on}, before it begins on {starts_on}.", "Mend the dates.")


def _teaching(row: Row, user: Row, starts_on: date, ends_on: date | None) -> Teaching:
    said = user.cells
    name = f"{said['givenName']} {said['familyName']}"
    email = said.get("email", "").casefold()
    return Teaching(row.number, row.cells["classSourcedId"], said["sourcedId"], name, email, starts_on, ends_on)
