"""Tables into a snapshot: each row is checked against the others, and one that is not sound is a problem."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from graphlib import CycleError, TopologicalSorter

from menus.imports.cells import Cells
from menus.imports.draft import Draft
from menus.imports.problem import Unreadable
from menus.imports.sheet import Row
from roster.imports.attending import read_enrolments
from roster.imports.snapshot import Pupil, Room, School, Snapshot, listed
from roster.imports.tables import Tables

CLASS_TYPES = {"homeroom", "scheduled"}
OLDEST_PUPIL = timedelta(days=25 * 366)
"""An earlier birth date is a slip of the pen, and would pass for an age at which nothing is cut up any more."""


def read_snapshot(
    draft: Draft, tables: Tables, *, class_types: Iterable[str], today: date, last_day_counts: bool = True
) -> Snapshot:
    """Read the tables; every row that is not sound becomes a problem of the draft and is left out.

    `last_day_counts` says whether a child is still in the class on the endDate of an enrolment. Raises Unreadable when
    the organisations go in a circle.
    """
    snapshot = Snapshot(schools={row.cells["sourcedId"]: _school(row) for row in tables["orgs"]})
    _refuse_loops(snapshot.schools)
    starts = _class_starts(draft, tables)
    snapshot.rooms = dict(_rooms(draft, tables["classes"], snapshot.schools, set(class_types)))
    births = dict(_births(draft, tables.get("demographics", []), today))
    read_enrolments(draft, snapshot, tables, starts, today=today, last_day_counts=last_day_counts)
    _pupils(draft, snapshot, tables, births)
    return snapshot


def _school(row: Row) -> School:
    cells = row.cells
    return School(row.number, cells["sourcedId"], cells["name"], cells["identifier"], cells["parentSourcedId"])


def _refuse_loops(schools: Mapping[str, School]) -> None:
    try:
        TopologicalSorter({school.id: [school.parent] for school in schools.values() if school.parent}).prepare()
    except CycleError as error:
        circle = [str(id) for id in error.args[1]]
        raise Unreadable(
            f"The organisations stand above each other in a circle: {' → '.join(circle)}.",
            "Mend parentSourcedId in the source system.",
            row=schools[circle[0]].row,
            field="parentSourcedId",
            file="orgs.csv",
        ) from error


def _rooms(draft: Draft, rows: list[Row], schools: Mapping[str, School], types: set[str]) -> Iterable[tuple[str, Room]]:
    for row in rows:
        cells = Cells(row, draft, file="classes.csv")
        kind, school = row.cells["classType"], row.cells["schoolSourcedId"]
        if kind not in CLASS_TYPES and not kind.startswith("ext:"):
            cells.refuse("classType", f"“{kind[:40]}” is no class type.", f"Use {' or '.join(sorted(CLASS_TYPES))}.")
        elif kind in types and school not in schools:
            cells.refuse("schoolSourcedId", f"“{school[:40]}” is not in orgs.csv.", "Export both files together.")
        title = cells.text("title", longest=80)
        if cells.sound and kind in types:
            grade = row.cells["grades"].partition(",")[0][:10]
            yield row.cells["sourcedId"], Room(row.number, row.cells["sourcedId"], title, grade, school)


def _class_starts(draft: Draft, tables: Tables) -> dict[str, date]:
    """Return the first day of each class: the earliest start among its terms."""
    terms: dict[str, date] = {}
    for row in tables.get("academicSessions", []):
        if start := Cells(row, draft, file="academicSessions.csv").day("startDate"):
            terms[row.cells["sourcedId"]] = start
    starts: dict[str, date] = {}
    for row in tables["classes"]:
        own = [terms[term] for term in listed(row.cells["termSourcedIds"]) if term in terms]
        if own:
            starts[row.cells["sourcedId"]] = min(own)
    return starts


def _births(draft: Draft, rows: list[Row], today: date) -> Iterable[tuple[str, date]]:
    for row in rows:
        cells = Cells(row, draft, file="demographics.csv")
        birth = cells.day("birthDate")
        if birth and birth > today:
            cells.refuse("birthDate", f"{birth} lies ahead.", "Mend it; until then the strictest age rules apply.")
        elif birth and birth < today - OLDEST_PUPIL:
            cells.refuse("birthDate", f"Born on {birth}, the child would be over 25.", "Mend the year.")
        elif birth:
            yield row.cells["sourcedId"], birth


def _pupils(draft: Draft, snapshot: Snapshot, tables: Tables, births: Mapping[str, date]) -> None:
    """A child is whoever has the role of a student or is enrolled as one: an extra child does no harm."""
    enrolled = {place.pupil for place in snapshot.places}
    students = {row.cells["userSourcedId"] for row in tables.get("roles", []) if row.cells["role"] == "student"}
    for row in tables["users"]:
        id = row.cells["sourcedId"]
        if id not in enrolled | students and row.cells.get("role") != "student":
            continue
        cells = Cells(row, draft, file="users.csv")
        given, family = cells.text("givenName", longest=80), cells.text("familyName", longest=80)
        if len(id) > 80:
            cells.refuse("sourcedId", "The id has more than 80 characters.", "Shorten it in the source system.")
        if cells.sound:
            snapshot.pupils[id] = Pupil(row.number, id, given, family, births.get(id))
    snapshot.places = [place for place in snapshot.places if place.pupil in snapshot.pupils]
