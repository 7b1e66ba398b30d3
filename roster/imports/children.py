"""Children of a class list against those that are recorded. Known by their id in the source, never by their name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from django.db.models import Q

from menus.imports.draft import Action, Draft, InBulk
from menus.signals import facts_changed
from roster.imports.snapshot import Pupil, Snapshot
from roster.models import Child
from roster.record.watch import tell

FILE = "users.csv"
CHANGES = "Changes name or birth date"


def draft_pupils(draft: Draft, snapshot: Snapshot, source: str) -> None:
    """Draft which children are new and which have another name or birth date. Two queries at most."""
    stand = {child.source_id: child for child in Child.objects.filter(source=source)}
    fresh = [pupil for pupil in snapshot.pupils.values() if pupil.id not in stand]
    for pupil in snapshot.pupils.values():
        _draft_pupil(draft, pupil, source, stand.get(pupil.id))
    _note_namesakes(draft, fresh, list(snapshot.pupils.values()), source)


def _draft_pupil(draft: Draft, pupil: Pupil, source: str, stands: Child | None) -> None:
    fields: dict[str, Any] = {"given_name": pupil.given_name, "family_name": pupil.family_name}
    if pupil.birth_date:  # a date that is missing or wrong today does not undo the one that is recorded
        fields["birth_date"] = pupil.birth_date
    elif not (stands and stands.birth_date):
        draft.note(pupil.row, "birthDate", "Unknown, so the strictest age rules apply to the child.", file=FILE)
    if stands and all(getattr(stands, name) == value for name, value in fields.items()):
        draft.keep("child")
        return
    detail = " ".join(str(value) for value in fields.values())
    if stands:
        draft.tell(CHANGES, f"{_said(stands)} ({pupil.id}) → {detail}")
        draft.step(Action.CHANGE, "child", pupil.id, detail, partial(_change, stands.pk, fields))
    else:
        new = {"source": source, "source_id": pupil.id, **fields}
        draft.step(Action.CREATE, "child", pupil.id, detail, InBulk(_add_all, new))


def _said(child: Child) -> str:
    return f"{child} {child.birth_date}" if child.birth_date else str(child)


def _note_namesakes(draft: Draft, fresh: list[Pupil], listed: list[Pupil], source: str) -> None:
    """Two children may share a name. Were it one child twice, what protects the one would not protect the other."""
    if not fresh:
        return
    names: dict[str, set[str]] = {}
    for pupil in listed:
        names.setdefault(pupil.name.casefold(), set()).add(pupil.id)
    families = {pupil.family_name for pupil in fresh}
    others = Child.objects.exclude(Q(source=source, source_id__in=[pupil.id for pupil in listed]))
    known = {str(child).casefold() for child in others.filter(family_name__in=families)}
    for pupil in fresh:
        if len(names[pupil.name.casefold()]) > 1 or pupil.name.casefold() in known:
            what = f"Another child named {pupil.name} is in the file or on record; they are kept apart by their ids."
            mend = "If they are one child, see to it that the restrictions stand with the one that is enrolled."
            draft.note(pupil.row, "sourcedId", what, mend, file=FILE)


def _add_all(new: list[Mapping[str, Any]], user: Any) -> None:
    children = [Child(**fields) for fields in new]
    for child in children:
        child.clean_fields()
    Child.objects.bulk_create(children)  # the database refuses an id that somebody else brought meanwhile
    tell(children)


def _change(pk: int, fields: Mapping[str, Any], user: Any) -> None:
    child = Child.objects.get(pk=pk)
    born = child.birth_date
    for name, value in fields.items():
        setattr(child, name, value)
    child.full_clean()
    child.save()
    if child.birth_date != born:  # nothing else of a child is checked
        facts_changed.send(sender=Child, instance=child)
