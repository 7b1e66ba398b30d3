"""Whether the grains of a dish are whole grain-rich, and whether it is a grain-based dessert.

The words stand in data/grain_kinds.csv, each with its source. A name that says neither leaves it unknown.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.lines import Line
from menus.mealpattern.crediting.tables import Phrases, holds_any, phrases, rows
from menus.mealpattern.crediting.wording import shown
from menus.mealpattern.tokens import words_of

HALF = Fraction(1, 2)
"""Of the grain, by weight, that must be whole (7 CFR 210.2). The rest must be enriched, which names do not tell."""


@dataclass(frozen=True, slots=True)
class Share:
    """How much of a grain is whole, at least and at most."""

    least: Fraction
    most: Fraction
    why: str


UNTOLD = Share(Fraction(0), Fraction(1), "its name does not say how much of it is whole grain")


@dataclass(frozen=True, slots=True)
class _Kind:
    dessert: bool
    words: Phrases
    unless: Phrases
    share: Share

    def fits(self, words: frozenset[str]) -> bool:
        return holds_any(self.words, words) and not holds_any(self.unless, words)


def whole_share(name: str) -> Share:
    """Return how much of a grain is whole by its name."""
    words = frozenset(words_of(name))
    return next((kind.share for kind in _kinds() if not kind.dessert and kind.fits(words)), UNTOLD)


def whole_grain_rich(lines: Iterable[Line]) -> tuple[bool | None, tuple[str, ...]]:
    """Return whether at least half of the grain is whole, None where that cannot be told, and a sentence a grain.

    The lines are weighed by what they credit, which goes by the weight of the grain in them.
    """
    grains = [line for line in lines if line.component is Component.GRAINS and line.per_serving]
    if not grains:
        return None, ()
    shares = [(line, whole_share(line.name)) for line in grains]
    total = sum((line.per_serving for line in grains), Fraction(0))
    least = sum((line.per_serving * share.least for line, share in shares), Fraction(0)) / total
    most = sum((line.per_serving * share.most for line, share in shares), Fraction(0)) / total
    said = tuple(f"{line.name}: {share.why}." for line, share in shares)
    if least >= HALF:
        return True, (*said, f"At least {shown(100 * least)} % of the grain is whole: whole grain-rich.")
    if most < HALF:
        return False, (*said, f"At most {shown(100 * most)} % of the grain is whole: not whole grain-rich.")
    return None, (*said, "Whether half of the grain is whole is not known.")


def is_dessert(title: str, lines: Iterable[Line]) -> bool:
    """Tell whether a dish is a grain-based dessert by its title or by the name of a grain in it."""
    names = [title, *(line.name for line in lines if line.component is Component.GRAINS or line.asked)]
    words = [frozenset(words_of(name)) for name in names]
    return any(kind.fits(each) for kind in _kinds() if kind.dessert for each in words)


@cache
def _kinds() -> tuple[_Kind, ...]:
    return tuple(
        _Kind(
            dessert=row["kind"] == "dessert",
            words=phrases(row["words"]),
            unless=phrases(row["unless"]),
            share=Share(Fraction(row["least"] or 0), Fraction(row["most"] or 1), row["why"]),
        )
        for row in rows("grain_kinds.csv")
    )
