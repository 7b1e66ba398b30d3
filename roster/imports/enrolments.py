"""Enrolments of a class list against those that are recorded."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from functools import partial
from typing import Any

from menus.imports.draft import Action, Draft
from menus.signals import facts_changed
from roster.imports.places import Adjustment, Period, adjust, first_overlap
from roster.imports.snapshot import Snapshot
from roster.models import Child, Classroom, Enrolment
from roster.services import enrol

FILE = "enrollments.csv"
MANY = 0.25
FEW_CHILDREN = 8
"""A file that takes out more than a quarter of the children, and more than a handful, was most likely cut short.
Common practice, no source: a class list changes by a few children at a time."""


def draft_enrolments(
    draft: Draft, snapshot: Snapshot, source: str, *, today: date, end_absent: bool, confirm_endings: bool
) -> None:
    """Draft who comes into which room, who changes and who leaves. Two queries."""
    recorded = _recorded(source)
    listed: dict[str, list[Period]] = defaultdict(list)
    for place in snapshot.places:
        listed[place.pupil].append(Period(place.room, place.starts_on, place.ends_on, row=place.row))
    _note_unplaced(draft, snapshot, listed)
    gone: list[str] = []
    for pupil in {**listed, **recorded}:
        periods = listed.get(pupil, [])
        if clash := first_overlap(periods):
            _refuse_clash(draft, *clash)
            continue
        adjustments = adjust(recorded.get(pupil, []), periods, today=today, end_absent=end_absent)
        if adjustments and not periods:
            gone.append(pupil)
        _draft_adjustments(draft, source, pupil, adjustments)
        draft.keep("enrolment", len(periods) - sum(1 for change in adjustments if change.new and change.new.row))
    _tell_gone(draft, gone, source, children=len(recorded), confirmed=confirm_endings)


def _recorded(source: str) -> dict[str, list[Period]]:
    """Enrolments of the source's children, by the child's id there. A room of another source goes by its own id."""
    rows: dict[str, list[Period]] = defaultdict(list)
    enrolments = Enrolment.objects.filter(child__source=source).exclude(child__source_id="")
    for enrolment in enrolments.select_related("child", "classroom__site"):
        room = enrolment.classroom
        name = room.source_id if room.source == source else f"classroom {room.pk}"
        rows[enrolment.child.source_id].append(Period(name, enrolment.starts_on, enrolment.ends_on, enrolment.pk))
    return rows


def _note_unplaced(draft: Draft, snapshot: Snapshot, listed: dict[str, list[Period]]) -> None:
    for pupil in snapshot.pupils.values():
        if pupil.id not in listed:
            what = (
                f"{pupil.given_name} {pupil.family_name} is in no class that is read, so no menu is checked for them."
            )
            draft.note(pupil.row, "", what, "Enrol the child in a homeroom class.", file="users.csv")


def _refuse_clash(draft: Draft, earlier: Period, later: Period) -> None:
    draft.refuse(
        later.row,
        "beginDate",
        f"The child is in two classes on the same days: see row {earlier.row}.",
        "End one enrolment the day before the other begins.",
        file=FILE,
    )


def _draft_adjustments(draft: Draft, source: str, pupil: str, adjustments: list[Adjustment]) -> None:
    for change in adjustments:
        old, new = change.old, change.new
        if old is None and new is not None:
            write = partial(_enrol, source, pupil, new)
            draft.step(Action.CREATE, "enrolment", pupil, _words(new), write)
        elif old is not None:
            ends = new is None or not new.row
            detail = f"{_words(old)} → {_words(new) if new else 'did not begin'}"
            action = Action.END if ends else Action.CHANGE
            draft.step(action, "enrolment", pupil, detail, partial(_change, old.id, new))


def _words(period: Period) -> str:
    return f"{period.room} from {period.starts_on} to {period.ends_on or 'no set end'}"


def _enrol(source: str, pupil: str, period: Period, user: Any) -> None:
    enrol(
        child=Child.objects.get(source=source, source_id=pupil),
        classroom=Classroom.objects.get(source=source, source_id=period.room),
        starts_on=period.starts_on,
        ends_on=period.ends_on,
    )


def _change(pk: int, period: Period | None, user: Any) -> None:
    enrolment = Enrolment.objects.get(pk=pk)
    if period is None:
        enrolment.delete()
    else:
        enrolment.starts_on, enrolment.ends_on = period.starts_on, period.ends_on
        enrolment.full_clean()
        enrolment.save()
    facts_changed.send(sender=Enrolment, instance=enrolment)


def _tell_gone(draft: Draft, gone: list[str], source: str, *, children: int, confirmed: bool) -> None:
    names = {child.source_id: str(child) for child in Child.objects.filter(source=source, source_id__in=gone)}
    for pupil in gone:
        what = f"{names.get(pupil, pupil)} is no longer in the file and leaves the class; restrictions are kept."
        draft.note(0, "", what, "Put the child back into the source system if that is a slip.", file=FILE)
    if len(gone) > max(FEW_CHILDREN, MANY * children) and not confirmed:
        draft.refuse(
            0,
            "",
            f"The file would take {len(gone)} of {children} children out of their classes.",
            "Check that it is complete; if so, import it again and confirm that they leave.",
            file=FILE,
        )
