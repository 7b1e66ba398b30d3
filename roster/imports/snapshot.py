"""A snapshot: what a source system says of schools, classes, children, enrolments and teachers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date


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

    @property
    def name(self) -> str:
        """Both names."""
        return f"{self.given_name} {self.family_name}"


@dataclass(frozen=True, slots=True)
class Place:
    """A row of enrollments.csv that puts a child into a kept class."""

    row: int
    room: str
    pupil: str
    starts_on: date
    ends_on: date | None


@dataclass(frozen=True, slots=True)
class Teaching:
    """A row of enrollments.csv that gives a kept class to a teacher whose account there is enabled."""

    row: int
    room: str
    teacher: str
    name: str
    email: str
    starts_on: date
    ends_on: date | None


@dataclass(slots=True)
class Snapshot:
    """Everything that the service keeps of a source, by the ids of the source system."""

    schools: dict[str, School] = field(default_factory=dict)
    rooms: dict[str, Room] = field(default_factory=dict)
    pupils: dict[str, Pupil] = field(default_factory=dict)
    places: list[Place] = field(default_factory=list)
    teaching: list[Teaching] = field(default_factory=list)


def only_changes(before: Snapshot, after: Snapshot) -> tuple[Snapshot, set[str], set[str]]:
    """Return what of the later snapshot differs, with the ids of those children and the addresses of those teachers.

    A file that holds changes only says nothing about everybody else, so they stay as they are recorded.
    """
    old, new = _by_pupil(before), _by_pupil(after)
    pupils = {id for id in {**old, **new} if old.get(id) != new.get(id)}
    touched = {teacher for teacher, *_ in _taught(before) ^ _taught(after)}
    narrowed = Snapshot(
        schools=after.schools,
        rooms={id: room for id, room in after.rooms.items() if _plain(room) != _plain(before.rooms.get(id))},
        pupils={id: pupil for id, pupil in after.pupils.items() if id in pupils},
        places=[place for place in after.places if place.pupil in pupils],
        teaching=[each for each in after.teaching if each.email in touched],
    )
    return narrowed, pupils, touched


def _by_pupil(snapshot: Snapshot) -> dict[str, tuple[Pupil | Room | None, set[Place]]]:
    """What a snapshot says of each child, wherever it stands in the file."""
    said = {id: (_plain(pupil), set[Place]()) for id, pupil in snapshot.pupils.items()}
    for place in snapshot.places:
        said[place.pupil][1].add(replace(place, row=0))
    return said


def _taught(snapshot: Snapshot) -> set[tuple[str, str, date, date | None]]:
    return {(each.email, each.room, each.starts_on, each.ends_on) for each in snapshot.teaching}


def _plain(row: Pupil | Room | None) -> Pupil | Room | None:
    return replace(row, row=0) if row else None


def listed(cell: str) -> Iterable[str]:
    """Return the parts of a cell that holds several, separated by commas."""
    return [part.strip() for part in cell.split(",") if part.strip()]
