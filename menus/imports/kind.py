"""A kind of import: the columns of its file and how a draft is made of its rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from menus.imports.draft import Draft


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a template."""

    name: str
    help: str
    example: str = ""
    required: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """What one kind of file holds. `draft` takes the rows and the context that stands beside the file."""

    name: str
    title: str
    columns: tuple[Column, ...]
    draft: Callable[..., Draft]

    @property
    def header(self) -> list[str]:
        """Names of the columns in the order of the template."""
        return [column.name for column in self.columns]
