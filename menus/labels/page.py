"""Places in a folded text as spans of the stored one."""

from __future__ import annotations

from dataclasses import dataclass

from menus.labels.evidence import Part, Span
from menus.labels.text import FoldedText


@dataclass(frozen=True, slots=True)
class Page:
    """One stored text, or a stretch of it, to say where things are in it."""

    part: Part
    folded: FoldedText

    def span(self, start: int, end: int) -> Span:
        """The words between two places of the folded text."""
        start, end = self.folded.locate(start, end) if end > start else (start, start)
        return Span(self.part, start, end, self.folded.source[start:end])
