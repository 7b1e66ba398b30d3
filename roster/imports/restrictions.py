"""Restrictions out of a sheet. A file may add protection or strengthen it; it never takes any away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft, doubles
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance
from roster.kinds.days import SetDays
from roster.models import Basis, Child, Restriction, Strictness
from roster.models.restriction import MEDICAL
from roster.services import record_restriction

COLUMNS = (
    Column("source", "The system the child's number is from, as the class list gives it.", "SAMPLE", True),
    Column("child_id", "The child's number in that system.", "usr-s1", True),
    Column("substance", "Code or name from the list of substances.", "tree-nut.cashew", True),
    Column(
        "strictness", "trace: also traces and possible presence. ingredient: as an ingredient. Empty: trace.", "trace"
    ),
    Column("basis", f"One of: {', '.join(Basis.values)}. Empty: reported.", "reported"),
    Column("starts_on", "First day, YYYY-MM-DD. Empty: at once.", ""),
    Column("ends_on", "Last day, YYYY-MM-DD, where it is not medical. Empty: until licensed staff end it.", ""),
    Column("note", "The words in which it was reported.", "hives after cashew"),
)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What one sound row says."""

    row: int
    child: Child
    substance: str
    strictness: str
    basis: str
    starts_on: date | None
    ends_on: date | None
    note: str

    @property
    def fields(self) -> dict[str, Any]:
        """The fields of the restriction beside child and substance."""
        names = ("strictness", "basis", "starts_on", "ends_on", "note")
        return {name: getattr(self, name) for name in names}


def draft_restrictions(rows: Sequence[Row], *, among: QuerySet[Child] | None = None) -> Draft:
    """Draft new restrictions, and new versions of recorded ones that the file makes stricter or longer. Two queries.

    `among` are the children whom the person may bring restrictions for (None: all); others count as unknown.
    """
    draft = Draft()
    known = Child.objects.all() if among is None else among
    sources = {row.cells["source"] for row in rows}
    children = {(child.source, child.source_id): child for child in known.filter(source__in=sources)}
    wanted = [want for row in rows if (want := _read(Cells(row, draft), children))]
    twice = doubles((want.row, f"{want.child.pk} {want.substance}") for want in wanted)
    for row, other in twice.items():
        what = f"Row {other} names the same child and substance."
        draft.refuse(row, "substance", what, "Keep the stricter of the two rows.")
    recorded = _recorded(children.values())
    for want in wanted:
        _draft_one(draft, want, recorded.get((want.child.pk, want.substance), []))
    return draft


RESTRICTIONS = Kind("restrictions", "Restrictions", COLUMNS, draft_restrictions)


def _read(cells: Cells, children: Mapping[tuple[str, str], Child]) -> _Wanted | None:
    source = cells.text("source", longest=40, required=True)
    number = cells.text("child_id", longest=80, required=True)
    child = children.get((source, number))
    if source and number and child is None:
        what = f"No child of “{source[:40]}” has the number “{number[:80]}”."
        cells.refuse("child_id", what, "Import the class list first, or mend the number.")
    substance = _substance(cells)
    strictness = cells.choice("strictness", dict(Strictness.choices), default=Strictness.TRACE)
    basis = cells.choice("basis", dict(Basis.choices), default=Basis.REPORTED)
    starts_on, ends_on = cells.day("starts_on"), cells.day("ends_on")
    if starts_on and ends_on and ends_on < starts_on:
        cells.refuse("ends_on", f"It would end on {ends_on}, before it begins on {starts_on}.", "Mend the dates.")
    if basis in MEDICAL and strictness != Strictness.TRACE:
        mend = "Write “trace”. Licensed staff may relax it afterwards, with a signature."
        cells.refuse("strictness", "A medical restriction begins as “trace”.", mend)
    if basis in MEDICAL and ends_on:
        mend = "Leave the cell empty. Licensed staff end a medical restriction in the service, with a reason."
        cells.refuse("ends_on", "A medical restriction has no last day.", mend)
    note = cells.text("note", longest=200)
    if child is None or not cells.sound:
        return None
    return _Wanted(cells.row, child, substance, strictness, basis, starts_on, ends_on, note)


def _substance(cells: Cells) -> str:
    text = cells.text("substance", longest=60, required=True)
    if not text:
        return ""
    try:
        return Catalogue.load().resolve(text).code
    except UnknownSubstance as error:
        hint = f"Is {' or '.join(f'“{code}”' for code in error.nearest)} meant? " if error.nearest else ""
        cells.refuse("substance", f"“{text}” is not in the list of substances.", f"{hint}Use a code from the list.")
        return ""


def _recorded(children: Any) -> dict[tuple[int, str], list[Restriction]]:
    found: dict[tuple[int, str], list[Restriction]] = {}
    # One that keeps to set days of the calendar does not stand for what a row asks for on every day.
    stand = Restriction.objects.known(timezone.now()).filter(days=SetDays.EVERY)
    stand = stand.filter(child__in=[child.pk for child in children])
    for restriction in stand:
        found.setdefault((restriction.child_id, restriction.substance), []).append(restriction)
    return found


def _draft_one(draft: Draft, want: _Wanted, recorded: list[Restriction]) -> None:
    if any(_same(want, restriction) for restriction in recorded):
        draft.keep("restriction")
        return
    replaces = next((restriction for restriction in recorded if not _milder(want, restriction)), None)
    if recorded and replaces is None:
        draft.refuse(
            want.row,
            "strictness",
            f"“{want.substance}” is recorded for this child more strictly or for longer ({_words(recorded[0])}).",
            "A file never relaxes a restriction: licensed staff do, in the service.",
        )
        return
    name = f"{want.child.source} {want.child.source_id}: {want.substance}"
    detail = ", ".join(f"{field} {value}" for field, value in want.fields.items() if value)
    action = Action.CHANGE if replaces else Action.CREATE
    draft.step(action, "restriction", name, detail, lambda user: _write(want, replaces, user))


def _same(want: _Wanted, recorded: Restriction) -> bool:
    return all(getattr(recorded, name) == value for name, value in want.fields.items())


def _milder(want: _Wanted, recorded: Restriction) -> bool:
    """Tell whether the file would reach less far, begin later, end sooner or rest on a lesser word."""
    return (
        (recorded.strictness == Strictness.TRACE and want.strictness != Strictness.TRACE)
        or (want.starts_on or date.min) > (recorded.starts_on or date.min)
        or (want.ends_on or date.max) < (recorded.ends_on or date.max)
        or (recorded.basis in MEDICAL and want.basis not in MEDICAL)
        or (recorded.basis == Basis.STATEMENT and want.basis == Basis.REPORTED)
    )


def _words(restriction: Restriction) -> str:
    return f"{restriction.strictness}, {restriction.basis}, until {restriction.ends_on or 'somebody ends it'}"


def _write(want: _Wanted, replaces: Restriction | None, user: Any) -> None:
    record_restriction(child=want.child, substance=want.substance, replaces=replaces, recorded_by=user, **want.fields)
