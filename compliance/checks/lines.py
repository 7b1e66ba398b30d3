"""Exceptions as a list that people read: dishes that wait for the same answer about a child stand in one line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from compliance.checks.exceptions import ExceptionRow
from compliance.checks.questions import Key, subject_of
from compliance.checks.reasons import Reason
from compliance.models import Referral
from compliance.rules.values import Outcome
from menus.labels.evidence import BY_WORD


@dataclass(frozen=True, slots=True)
class Line:
    """Exceptions of one child and one restriction that the same answers would settle, or a single one; by day."""

    rows: tuple[ExceptionRow, ...]
    asked: tuple[tuple[str, Referral | None], ...] = ()  # each question in words, and where it stands

    @property
    def first(self) -> ExceptionRow:
        """The one that comes first."""
        return self.rows[0]

    @property
    def days(self) -> list[tuple[date, list[ExceptionRow]]]:
        """The same day by day."""
        return [(day, list(met)) for day, met in groupby(self.rows, key=lambda row: row.date)]


def lines(rows: Iterable[ExceptionRow]) -> list[Line]:
    """Return the rows as lines, each where its first row stood. No row is left out, and none stands twice."""
    together: dict[tuple[object, ...], list[ExceptionRow]] = {}
    for row in rows:
        together.setdefault(_settled_by(row), []).append(row)
    return [Line(tuple(found)) for found in together.values()]


def with_questions(wanted: Iterable[Line]) -> list[Line]:
    """Return the lines with what they wait for, and the newest referral of each question. One query, if any waits."""
    shown = list(wanted)
    open_ = {line.first.restriction.chain for line in shown if line.first.waits_for}
    asked = Referral.objects.about(open_) if open_ else Referral.objects.none()
    newest = {(referral.chain, referral.subject): referral for referral in asked}
    return [Line(line.rows, _asked(line.first, newest)) for line in shown]


def asked(row: ExceptionRow, reason: Reason) -> str:
    """Return in words what one open reason of the row waits for."""
    if reason.kind in BY_WORD:
        return f"“{reason.term}” and {row.substance_name}"
    return f"{reason.title}, {row.food(reason)}"


def _settled_by(row: ExceptionRow) -> tuple[object, ...]:
    if row.outcome is not Outcome.REFER:
        return (row.serving.pk, row.restriction.pk, row.classroom.pk)  # no answer settles it: it stands by itself
    return (row.site.pk, row.classroom.pk, row.child.pk, row.restriction.pk, row.waits_for)


def _asked(row: ExceptionRow, newest: dict[Key, Referral]) -> tuple[tuple[str, Referral | None], ...]:
    questions: dict[str, Referral | None] = {}
    for reason in row.open_reasons:
        subject = subject_of(reason, row.restriction.substance, row.food(reason))
        questions[asked(row, reason)] = newest.get((row.restriction.chain, subject))
    return tuple(questions.items())
