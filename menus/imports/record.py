"""A record: one row of a file before anybody knows what its cells mean."""

from __future__ import annotations

from dataclasses import dataclass

from menus.imports.problem import Problem


@dataclass(frozen=True, slots=True)
class Record:
    """A row's number as a spreadsheet shows it, its cells stripped, and what in them could not be read."""

    number: int
    cells: list[str]
    problems: tuple[Problem, ...] = ()
