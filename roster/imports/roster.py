"""A full class list (OneRoster, bulk) into sites, classrooms, children and enrolments."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from functools import partial
from typing import Any

from django.db.models import Q
from django.utils import timezone

from menus.imports.draft import Action, Draft
from menus.imports.problem import Problem, Unreadable
from menus.models import Site
from roster.imports.enrolments import draft_enrolments
from roster.imports.package import Package
from roster.imports.schools import draft_sites
from roster.imports.snapshot import Pupil, Room, Snapshot, read_snapshot
from roster.imports.tables import read_tables
from roster.models import Child, Classroom


def draft_roster(
    package: Package,
    *,
    today: date | None = None,
    class_types: Iterable[str] = ("homeroom",),
    sites: Mapping[str, str] | None = None,
    create_sites: bool = False,
    leave_out: bool = False,
    confirm_endings: bool = False,
) -> Draft:
    """Draft what brings the records of the package's source system into line with it. Queries do not grow with rows.

    `sites` maps a school's identifier or id to the code of a site. With `leave_out` rows that are not sound are left
    out instead of stopping the import; then nobody is taken out of a class for being absent from the file, since the
    row that is missing may be one of those. `confirm_endings` allows a file that takes very many children out.
    """
    draft = Draft()
    day = today or timezone.localdate()
    tables = read_tables(draft, package)
    if tables is None:
        return draft
    try:
        snapshot = read_snapshot(draft, tables, class_types=class_types, today=day)
    except Unreadable as error:
        draft.problems.append(error.problem)
        return draft
    left_out = _leave_out(draft) if leave_out else False
    codes = draft_sites(draft, snapshot, sites or {}, create=create_sites)
    _draft_rooms(draft, snapshot, codes, package.source)
    _draft_pupils(draft, snapshot, package.source)
    draft_enrolments(
        draft, snapshot, package.source, today=day, end_absent=not left_out, confirm_endings=confirm_endings
    )
    return draft


def _leave_out(draft: Draft) -> bool:
    """Turn the problems of single rows into notes. Tell whether there were any."""
    rows, draft.problems = draft.problems, []
    draft.notes += [Problem(p.row, p.field, p.what, f"The row is left out. {p.mend}", p.file) for p in rows]
    if rows:
        draft.note(0, "", "Rows were left out, so nobody is taken out of a class for being absent from the file.")
    return bool(rows)


def _draft_rooms(draft: Draft, snapshot: Snapshot, codes: Mapping[str, str], source: str) -> None:
    rooms = Classroom.objects.filter(Q(source=source) | Q(site__code__in=codes.values()))
    stand = list(rooms.select_related("site"))
    by_id = {room.source_id: room for room in stand if room.source == source}
    by_name = {(room.site.code, room.name): room for room in stand}
    rows: dict[tuple[str, str], int] = {}
    for room in snapshot.rooms.values():
        if room.school not in codes:
            continue
        place = (codes[room.school], room.title)
        if place in rows:
            what = f"Row {rows[place]} has a class of the same name at the same school."
            draft.refuse(room.row, "title", what, "Give each class its own title.", file="classes.csv")
        rows.setdefault(place, room.row)
        _draft_room(draft, room, codes[room.school], source, by_id.get(room.id) or by_name.get(place))


def _draft_room(draft: Draft, room: Room, site: str, source: str, stands: Classroom | None) -> None:
    if stands and stands.source and (stands.source, stands.source_id) != (source, room.id):
        what = f"“{room.title}” is recorded for another class, “{stands.source_id}” of “{stands.source}”."
        draft.refuse(room.row, "title", what, "Rename one of the two classes.", file="classes.csv")
        return
    fields = {"name": room.title, "grade": room.grade, "source": source, "source_id": room.id}
    if stands and stands.site.code == site and all(getattr(stands, name) == fields[name] for name in fields):
        draft.keep("classroom")
        return
    action = Action.CHANGE if stands else Action.CREATE
    detail = f"{room.title} {room.grade} at {site}"
    write = partial(_write_room, stands.pk if stands else None, site, fields)
    draft.step(action, "classroom", room.title, detail, write)


def _write_room(pk: int | None, site: str, fields: Mapping[str, str], user: Any) -> None:
    room = Classroom.objects.get(pk=pk) if pk else Classroom()
    room.site = Site.objects.get(code=site)
    for name, value in fields.items():
        setattr(room, name, value)
    room.full_clean()
    room.save()


def _draft_pupils(draft: Draft, snapshot: Snapshot, source: str) -> None:
    stand = {child.source_id: child for child in Child.objects.filter(source=source)}
    for pupil in snapshot.pupils.values():
        _draft_pupil(draft, pupil, source, stand.get(pupil.id))


def _draft_pupil(draft: Draft, pupil: Pupil, source: str, stands: Child | None) -> None:
    fields: dict[str, Any] = {"given_name": pupil.given_name, "family_name": pupil.family_name}
    if pupil.birth_date:  # a date that is missing or wrong today does not undo the one that is recorded
        fields["birth_date"] = pupil.birth_date
    elif not (stands and stands.birth_date):
        draft.note(pupil.row, "birthDate", "Unknown, so the strictest age rules apply to the child.", file="users.csv")
    if stands and all(getattr(stands, name) == value for name, value in fields.items()):
        draft.keep("child")
        return
    action = Action.CHANGE if stands else Action.CREATE
    detail = " ".join(str(value) for value in fields.values())
    draft.step(action, "child", pupil.id, detail, partial(_write_pupil, source, pupil.id, fields))


def _write_pupil(source: str, id: str, fields: Mapping[str, Any], user: Any) -> None:
    child = Child.objects.filter(source=source, source_id=id).first() or Child(source=source, source_id=id)
    for name, value in fields.items():
        setattr(child, name, value)
    child.full_clean()
    child.save()
