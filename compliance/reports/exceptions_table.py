"""The table of an export of exceptions: its columns and the cells of each row, the same for every file type."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from compliance.checks.exceptions import ExceptionRow
from compliance.checks.lines import asked
from menus.labels.evidence import Step

Cell = date | int | str


@dataclass(frozen=True, slots=True)
class Column:
    """One column: heading, width in characters, and the cell of a row. Several texts of a cell are lines."""

    title: str
    width: int
    cell: Callable[[ExceptionRow], Cell | list[str]]


COLUMNS = (
    Column("Date", 11, lambda row: row.date),
    Column("Meal", 10, lambda row: row.meal),
    Column("Site", 14, lambda row: row.site.name),
    Column("Class", 12, lambda row: row.classroom.name),
    Column("Child", 18, lambda row: str(row.child)),
    Column("Avoids", 14, lambda row: row.substance_name),
    Column("Strictness", 10, lambda row: row.restriction.strictness),
    Column("Dish", 20, lambda row: row.dish),
    Column("Outcome", 10, lambda row: row.outcome.words),
    Column("Reasons", 44, lambda row: [_said(reason.sentence, reason.allowed) for reason in row.reasons]),
    Column("Words on the label", 18, lambda row: _told(reason.words for reason in row.reasons)),
    Column("Allowance applied", 18, lambda row: _told(reason.sentence for reason in row.lifted)),
    Column("People see to", 18, lambda row: list(row.seen_to)),
    Column("Waits for", 24, lambda row: _told(asked(row, reason) for reason in row.open_reasons)),
    Column("Child number", 14, lambda row: row.child.source_id),
    Column("Basis", 11, lambda row: row.restriction.basis),
    Column("From dish to label", 40, lambda row: _told(_chain(reason.chain) for reason in row.reasons)),
    Column("Label versions", 14, lambda row: _told(reason.label_id for reason in row.reasons)),
    Column("Rules", 10, lambda row: _told(reason.rule for reason in row.reasons)),
    Column("Sources of the words", 40, lambda row: _told(_source(r.source, r.verified) for r in row.reasons)),
    Column("Run", 7, lambda row: row.run.pk),
)
PRINTED = 11
"""So many columns from the left fit a sheet of paper and can still be read; the rest is for looking things up."""


def _said(sentence: str, allowed: bool) -> str:
    return f"{sentence} (covered by an allowance)" if allowed else sentence


def _chain(chain: Iterable[Step]) -> str:
    return " → ".join(link.name for link in chain)


def _source(source: str, verified: str) -> str:
    return f"{source} ({verified})" if source else ""


def _told(texts: Iterable[str]) -> list[str]:
    """Each text once, in order."""
    return [text for text in dict.fromkeys(texts) if text]
