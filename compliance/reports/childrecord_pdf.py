"""A document about one child as PDF: sections of facts, parts and rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field

from compliance.reports.typeset import typeset

Fact = tuple[str, str]
"""What it is called, and what it is."""


@dataclass(frozen=True, slots=True)
class Part:
    """One thing within a section, such as one restriction."""

    heading: str
    facts: Sequence[Fact]


@dataclass(frozen=True, slots=True)
class Section:
    """One section. `columns` are the widths of the rows beside each other."""

    heading: str
    text: Sequence[str] = ()
    facts: Sequence[Fact] = ()
    parts: Sequence[Part] = ()
    head: Sequence[str] = ()
    columns: Sequence[int] = ()
    rows: Sequence[Sequence[str]] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """The whole document, in one language."""

    title: str
    heading: str
    lang: str
    paper: str
    asof: str
    caution: str
    cautions: Sequence[str]
    foot: str
    page: str
    intro: Sequence[str] = ()
    sections: Sequence[Section] = field(default_factory=list)


def document_pdf(document: Document) -> bytes:
    """Return it as a tagged PDF. Names go in as data, so none of them is taken for markup."""
    return typeset("childrecord.typ", asdict(document))
