"""A class list (OneRoster, bulk or delta) into sites, classrooms, children, enrolments and teachers' posts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date
from functools import partial
from typing import Any

from django.conf import settings
from django.db.models import Q
from django.utils import timezone

from menus.imports.draft import Action, Draft
from menus.imports.problem import Problem, Unreadable
from menus.models import Site
from menus.signals import facts_changed
from roster.imports.children import draft_pupils
from roster.imports.enrolments import draft_enrolments
from roster.imports.known import brought_up_to_date, keep_known, known_tables, without_strangers
from roster.imports.package import Package
from roster.imports.posts import draft_posts
from roster.imports.reading import read_snapshot
from roster.imports.schools import draft_sites
from roster.imports.snapshot import Room, Snapshot, only_changes
from roster.imports.tables import read_tables
from roster.models import Classroom


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
    read = partial(
        read_snapshot, class_types=class_types, today=day, last_day_counts=settings.ROSTER_END_DATE_INCLUSIVE
    )
    known = {} if package.is_full else known_tables(package.source)
    try:
        if not package.is_full:
            tables = brought_up_to_date(draft, known, package, tables)
        snapshot = read(draft, tables)
    except Unreadable as error:
        draft.problems.append(error.problem)
        return draft
    left_out = _leave_out(draft) if leave_out else False
    titles = _titles(snapshot)
    pupils = teachers = None
    if package.deltas and not set(package.files) - package.deltas:
        snapshot, pupils, teachers = only_changes(read(Draft(), known), snapshot)
    codes = draft_sites(draft, snapshot, sites or {}, create=create_sites)
    _draft_rooms(draft, snapshot, codes, package.source)
    draft_pupils(draft, snapshot, package.source)
    said: dict[str, Any] = {"titles": titles, "today": day, "end_absent": not left_out}
    draft_enrolments(draft, snapshot, package.source, **said, confirm_endings=confirm_endings, only=pupils)
    draft_posts(draft, snapshot, package.source, **said, only=teachers)
    keep_known(draft, package.source, without_strangers(tables), add_only=left_out)
    return draft


def _titles(snapshot: Snapshot) -> dict[str, str]:
    """Return what people call each room; with the id of its school where two have the same name."""
    times = Counter(room.title for room in snapshot.rooms.values())
    return {
        id: room.title if times[room.title] == 1 else f"{room.title} ({room.school})"
        for id, room in snapshot.rooms.items()
    }


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
    room, home = Classroom.objects.get(pk=pk) if pk else Classroom(), Site.objects.get(code=site)
    moved = pk is not None and room.site_id != home.pk
    room.site = home
    for name, value in fields.items():
        setattr(room, name, value)
    room.full_clean()
    room.save()
    if moved:
        facts_changed.send(sender=Classroom, instance=room)
