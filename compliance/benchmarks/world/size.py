"""How large an invented district is."""

from __future__ import annotations

from dataclasses import dataclass

CHILDREN_A_SITE = 500
"""A US public school has about so many (94,000 schools, 49 million students; reference figures, rounded)."""
CHILDREN_A_CLASS = 25
"""Common practice for a class, no source."""

NAMED = {"school": 500, "district": 100_000, "large": 1_000_000}
"""Children by the name of the size."""


@dataclass(frozen=True, slots=True)
class Size:
    """So many children, at so many sites, with so many times the usual number of dishes a day."""

    children: int
    dishes: int = 1

    @property
    def sites(self) -> int:
        """How many sites they go to."""
        return max(1, round(self.children / CHILDREN_A_SITE))

    def at(self, site: int) -> int:
        """How many children go to the site of that number, counted from 0: what is over goes to the first sites."""
        each, over = divmod(self.children, self.sites)
        return each + (site < over)
