"""A kind of import: the columns of its file and how a draft is made of its rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import IO

from menus.imports.draft import Draft
from menus.imports.sheet import Sheet, read_sheet


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a template."""

    name: str
    help: str
    example: str = ""
    required: bool = False
    omissible: bool = False  # a file may lack the whole column, which is then empty in every row


@dataclass(frozen=True, slots=True)
class Kind:
    """What one kind of file holds. `draft` takes the rows and the context that stands beside the file."""

    name: str
    title: str
    columns: tuple[Column, ...]
    draft: Callable[..., Draft]
    sheet: Callable[[IO[bytes], Sequence[str], Sequence[str]], Sheet] = read_sheet

    @property
    def header(self) -> list[str]:
        """Names of the columns in the order of the template."""
        return [column.name for column in self.columns]

    @property
    def omissible(self) -> list[str]:
        """Names of the columns that a file may lack."""
        return [column.name for column in self.columns if column.omissible]

    def read(self, file: IO[bytes]) -> Sheet:
        """Return the rows of the file and what was wrong with the rest. Whatever the bytes, the answer is a Sheet."""
        return self.sheet(file, self.header, self.omissible)
