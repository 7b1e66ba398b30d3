"""Measure the reader on a file: which scorer its rows call for, and over which of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Protocol

from menus.labels.measuring.coverage import Coverage
from menus.labels.measuring.declarations import Declarations
from menus.labels.measuring.glosses import Glosses
from menus.labels.measuring.proportion import Figure
from menus.labels.measuring.rows import Ask, BadFile, Row, ask_of, rows_of
from menus.labels.measuring.tags import Tags


class Measure(Protocol):
    """Takes rows, yields figures, keeps what went wrong."""

    title: str
    errors: list[Row]

    def add(self, row: Row) -> None: ...

    def figures(self) -> Iterator[Figure]: ...

    def notes(self) -> Iterator[str]: ...


_MEASURES: dict[Ask, Callable[[], Measure]] = {
    Ask.DECLARATION: Declarations,
    Ask.GLOSS: Glosses,
    Ask.TAGS: Tags,
    Ask.COVERAGE: Coverage,
}


def measure(path: Path, rows: Iterable[Row] | None = None) -> Measure:
    """Score every row of the file, or those given. Raises BadFile when there is none, or nothing to score it by."""
    scorer: Measure | None = None
    for row in rows_of(path) if rows is None else rows:
        scorer = scorer or _MEASURES[ask_of(path, row)]()
        scorer.add(row)
    if scorer is None:
        raise BadFile(f"{path}: no row is left to measure; check the file and the options.")
    return scorer
