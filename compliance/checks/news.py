"""How much is new at a site since somebody was last told."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class News:
    """How many exceptions came up and went away between two moments. Dishes that wait for one answer count once."""

    changed: int = 0
    """New on days that had been checked before: a label, a recipe, a child or a plan changed."""
    gone: int = 0
    ahead: int = 0
    """On days that came into view for the first time, save where the same question had come up on another day."""

    def __bool__(self) -> bool:
        return bool(self.changed or self.gone or self.ahead)

    def __add__(self, other: News) -> News:
        return News(self.changed + other.changed, self.gone + other.gone, self.ahead + other.ahead)

    def times(self, count: int) -> News:
        """Return the same for so many children."""
        return News(self.changed * count, self.gone * count, self.ahead * count)
