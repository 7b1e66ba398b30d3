"""Enrolments of a class list against those that are recorded: who comes into which room, who changes, who leaves."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import Any

from django.utils import timezone

from menus.imports.draft import Action, Draft, InBulk
from menus.signals import facts_changed
from roster.enrolling import change_days, enrol_all
from roster.imports.movement import Kind, Movement, applied, movement
from roster.imports.places import Adjustment, Period, adjust, first_overlap
from roster.imports.snapshot import Snapshot
from roster.models import Child, Classroom, Enrolment, Restriction

FILE = "enrollments.csv"
MANY = 0.05
"""A file that takes out more than this share of the children was most likely cut short: somebody says that it was not.
Common practice, no source: a class list changes by a few children at a time."""


@dataclass(slots=True)
class Recorded:
    """The enrolments of the source's children, by the child's id there, with names for people to read."""

    periods: dict[str, list[Period]] = field(default_factory=lambda: defaultdict(list))
    children: dict[str, str] = field(default_factory=dict)
    rooms: dict[str, str] = field(default_factory=dict)


def draft_enrolments(
    draft: Draft,
    snapshot: Snapshot,
    source: str,
    *,
    titles: Mapping[str, str],
    today: date,
    end_absent: bool,
    confirm_endings: bool,
    only: Collection[str] | None = None,
) -> None:
    """Draft who comes into which room, who changes and who leaves. Two queries, three when somebody leaves.

    `titles` are the names of the source's rooms. With `only`, children of other ids stay as they are.
    """
    recorded = _recorded(source)
    listed: dict[str, list[Period]] = defaultdict(list)
    for place in snapshot.places:
        listed[place.pupil].append(Period(place.room, place.starts_on, place.ends_on, row=place.row, is_listed=True))
    _note_unplaced(draft, snapshot, listed)
    names = recorded.children | {pupil.id: pupil.name for pupil in snapshot.pupils.values()}
    rooms = {**recorded.rooms, **titles}
    moves: dict[str, Movement] = {}
    changes: list[tuple[str, Adjustment]] = []
    for pupil in {**listed, **recorded.periods}:
        if only is not None and pupil not in only:
            continue
        periods, stand = listed.get(pupil, []), recorded.periods.get(pupil, [])
        if clash := first_overlap(periods):
            _refuse_clash(draft, *clash)
            continue
        adjustments = adjust(stand, periods, today=today, end_absent=end_absent)
        if adjustments and not periods:
            _note_absent(draft, names.get(pupil, pupil))
        changes += [(pupil, change) for change in adjustments]
        draft.keep("enrolment", len(periods) - sum(1 for change in adjustments if change.new and change.new.is_listed))
        before, after = ([_titled(each, rooms) for each in part] for part in (stand, applied(stand, adjustments)))
        if moved := movement(before, after, today):
            moves[pupil] = moved
    _draft_changes(draft, source, changes)
    _tell(draft, moves, names, source)
    ahead = sum(1 for stand in recorded.periods.values() if any((each.ends_on or today) >= today for each in stand))
    gone = sum(1 for each in moves.values() if each.kind is Kind.LEAVES and (each.last_day or today) <= today)
    if gone > MANY * ahead and not confirm_endings:
        _refuse_many(draft, gone, ahead)


def _recorded(source: str) -> Recorded:
    """A room of another source goes by its own id. One query."""
    rows = Recorded()
    enrolments = Enrolment.objects.filter(child__source=source).exclude(child__source_id="")
    for enrolment in enrolments.select_related("child", "classroom__site"):
        room, pupil = enrolment.classroom, enrolment.child.source_id
        name = room.source_id if room.source == source else f"classroom {room.pk}"
        rows.periods[pupil].append(Period(name, enrolment.starts_on, enrolment.ends_on, enrolment.pk))
        rows.children[pupil], rows.rooms[name] = str(enrolment.child), room.name
    return rows


def _titled(period: Period, titles: Mapping[str, str]) -> Period:
    return replace(period, room=titles.get(period.room, period.room))


def _note_unplaced(draft: Draft, snapshot: Snapshot, listed: dict[str, list[Period]]) -> None:
    for pupil in snapshot.pupils.values():
        if pupil.id not in listed:
            what = f"{pupil.name} is in no class that is read, so no menu is checked for them."
            draft.note(pupil.row, "", what, "Enrol the child in a homeroom class.", file="users.csv")


def _note_absent(draft: Draft, name: str) -> None:
    what = f"{name} is no longer in the file and leaves the class; restrictions are kept."
    draft.note(0, "", what, "Put the child back into the source system if that is a slip.", file=FILE)


def _refuse_clash(draft: Draft, earlier: Period, later: Period) -> None:
    where = f"see row {earlier.row}" if earlier.row else "the other stands in an earlier file"
    draft.refuse(
        later.row,
        "beginDate",
        f"The child is in two classes on the same days: {where}.",
        "End one enrolment the day before the other begins.",
        file=FILE,
    )


def _refuse_many(draft: Draft, gone: int, children: int) -> None:
    draft.refuse(
        0,
        "",
        f"The file would take {gone} of {children} children out of their classes, more than {MANY:.0%}.",
        "Check that it is complete; if so, import it again and confirm that they leave.",
        file=FILE,
    )


def _tell(draft: Draft, moves: Mapping[str, Movement], names: Mapping[str, str], source: str) -> None:
    """One line a child, those who leave first, each with how much stays on record of them. One query at most."""
    leaving = [pupil for pupil, each in moves.items() if each.kind is Kind.LEAVES]
    kept: Counter[str] = Counter()
    if leaving:
        children = Restriction.objects.known(timezone.now()).filter(child__source=source, child__source_id__in=leaving)
        kept.update(children.values_list("child__source_id", flat=True))
    for kind in Kind:
        for pupil, each in moves.items():
            if each.kind is kind:
                stays = f"; {kept[pupil]} on record about food, kept" if kept[pupil] else ""
                draft.tell(kind.value, f"{names.get(pupil, pupil)} ({pupil}): {each.words}{stays}")


def _draft_changes(draft: Draft, source: str, changes: list[tuple[str, Adjustment]]) -> None:
    """What ends comes first, of all the children: what begins finds its days free, and each kind goes together."""
    for pupil, change in sorted(changes, key=lambda each: each[1].old is None):
        old, new = change.old, change.new
        if old is None and new is not None:
            draft.step(Action.CREATE, "enrolment", pupil, _words(new), InBulk(_enrol_all, (source, pupil, new)))
        elif old is not None:
            ends = new is None or not new.is_listed
            detail = f"{_words(old)} → {_words(new) if new else 'did not begin'}"
            action = Action.END if ends else Action.CHANGE
            write = InBulk(_change_all, (old.id, new)) if new else partial(_drop, old.id)
            draft.step(action, "enrolment", pupil, detail, write)


def _words(period: Period) -> str:
    return f"{period.room} from {period.starts_on} to {period.ends_on or 'no set end'}"


def _enrol_all(new: list[tuple[str, str, Period]], user: Any) -> None:
    [source] = {source for source, _, _ in new}  # a package has one
    children = Child.objects.filter(source=source, source_id__in={pupil for _, pupil, _ in new})
    rooms = Classroom.objects.filter(source=source, source_id__in={period.room for _, _, period in new})
    child_by_id = {child.source_id: child for child in children}
    room_by_id = {room.source_id: room for room in rooms}
    enrol_all(
        [
            Enrolment(
                child=child_by_id[pupil],
                classroom=room_by_id[period.room],
                starts_on=period.starts_on,
                ends_on=period.ends_on,
            )
            for _, pupil, period in new
        ]
    )


def _change_all(changes: list[tuple[int, Period]], user: Any) -> None:
    change_days({pk: (period.starts_on, period.ends_on) for pk, period in changes})


def _drop(pk: int, user: Any) -> None:
    enrolment = Enrolment.objects.get(pk=pk)
    enrolment.delete()
    facts_changed.send(sender=Enrolment, instance=enrolment)
