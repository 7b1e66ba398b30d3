"""A snapshot: what a OneRoster package says of schools, classes, children and enrolments, each row checked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from graphlib import CycleError, TopologicalSorter

from menus.imports.cells import Cells
from menus.imports.draft import Draft
from menus.imports.problem import Unreadable
from menus.imports.sheet import Row
from roster.imports.tables import Tables

ENROLMENT_ROLES = {"administrator", "proctor", "student", "teacher"}
CLASS_TYPES = {"homeroom", "scheduled"}
OLDEST_PUPIL = timedelta(days=25 * 366)
"""An earlier birth date is a slip of the pen, and would pass for an age at which nothing is cut up any more."""


@dataclass(frozen=True, slots=True)
class School:
    """A row of orgs.csv."""

    row: int
    id: str
    name: str
    identifier: str
    parent: str


@dataclass(frozen=True, slots=True)
class Room:
    """A row of classes.csv whose class is kept."""

    row: int
    id: str
    title: str
    grade: str
    school: str


@dataclass(frozen=True, slots=True)
class Pupil:
    """A row of users.csv that is a child."""

    row: int
    id: str
    given_name: str
    family_name: str
    birth_date: date | None


@dataclass(frozen=True, slots=True)
class Place:
    """A row of enrollments.csv that puts a child into a kept class."""

    row: int
    room: str
    pupil: str
    starts_on: date
    ends_on: date | None


@dataclass(slots=True)
class Snapshot:
    """Everything of the package that the service keeps, by the ids of the source system."""

    schools: dict[str, School] = field(default_factory=dict)
    rooms: dict[str, Room] = field(default_factory=dict)
    pupils: dict[str, Pupil] = field(default_factory=dict)
    places: list[Place] = field(default_factory=list)


def read_snapshot(draft: Draft, tables: Tables, *, class_types: Iterable[str], today: date) -> Snapshot:
    """Read the tables; every row that is not sound becomes a problem of the draft and is left out.

    Raises Unreadable when the organisations go in a circle.
    """
    snapshot = Snapshot(schools={row.cells["sourcedId"]: _school(row) for row in tables["orgs"]})
    _refuse_loops(snapshot.schools)
    starts = _class_starts(draft, tables)
    snapshot.rooms = dict(_rooms(draft, tables["classes"], snapshot.schools, set(class_types)))
    births = dict(_births(draft, tables.get("demographics", []), today))
    people = {row.cells["sourcedId"]: row for row in tables["users"]}
    _places(draft, snapshot, tables, people, starts)
    _pupils(draft, snapshot, tables, people, births)
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
        own = [terms[term] for term in _listed(row.cells["termSourcedIds"]) if term in terms]
        if own:
            starts[row.cells["sourcedId"]] = min(own)
    return starts


def _listed(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(",") if part.strip()]


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


def _places(
    draft: Draft,
    snapshot: Snapshot,
    tables: Tables,
    people: Mapping[str, Row],
    starts: Mapping[str, date],
) -> None:
    classes = {row.cells["sourcedId"] for row in tables["classes"]}
    for row in tables["enrollments"]:
        cells = Cells(row, draft, file="enrollments.csv")
        role, room, pupil = (row.cells[column] for column in ("role", "classSourcedId", "userSourcedId"))
        if role not in ENROLMENT_ROLES and not role.startswith("ext:"):
            roles = ", ".join(sorted(ENROLMENT_ROLES))
            cells.refuse("role", f"“{role[:40]}” is no role of an enrolment.", f"Use one of: {roles}.")
        for column, known, file in (("userSourcedId", people, "users"), ("classSourcedId", classes, "classes")):
            if row.cells[column] not in known:
                what = f"“{row.cells[column][:40]}” is not in {file}.csv, or its row there is not sound."
                cells.refuse(column, what, "Export both files together, or mend that row.")
        starts_on = cells.day("beginDate") or starts.get(room)
        ends_on = cells.day("endDate")
        if role == "student" and room in snapshot.rooms and cells.sound:
            _check_dates(cells, starts_on, ends_on)
        if cells.sound and role == "student" and room in snapshot.rooms and starts_on:
            snapshot.places.append(Place(row.number, room, pupil, starts_on, ends_on))


def _check_dates(cells: Cells, starts_on: date | None, ends_on: date | None) -> None:
    if starts_on is None:
        mend = "Give the first day, or export academicSessions.csv with the class's term."
        cells.refuse("beginDate", "Nothing says on which day the child begins.", mend)
    elif ends_on and ends_on < starts_on:
        cells.refuse("endDate", f"The enrolment ends on {ends_on}, before it begins on {starts_on}.", "Mend the dates.")


def _pupils(
    draft: Draft,
    snapshot: Snapshot,
    tables: Tables,
    people: Mapping[str, Row],
    births: Mapping[str, date],
) -> None:
    """A child is whoever has the role of a student or is enrolled as one: an extra child does no harm."""
    enrolled = {place.pupil for place in snapshot.places}
    students = {row.cells["userSourcedId"] for row in tables.get("roles", []) if row.cells["role"] == "student"}
    for id, row in people.items():
        if id not in enrolled | students and row.cells.get("role") != "student":
            continue
        cells = Cells(row, draft, file="users.csv")
        given, family = cells.text("givenName", longest=80), cells.text("familyName", longest=80)
        if len(id) > 80:
            cells.refuse("sourcedId", "The id has more than 80 characters.", "Shorten it in the source system.")
        if cells.sound:
            snapshot.pupils[id] = Pupil(row.number, id, given, family, births.get(id))
    snapshot.places = [place for place in snapshot.places if place.pupil in snapshot.pupils]
