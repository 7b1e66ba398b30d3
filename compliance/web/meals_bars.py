"""Components as bars: how far a day or a week fills what its pattern asks for. Geometry for the template, no colors.

A bar says all it shows in words too; what it draws is told apart by shape and hatching, so that grey paper holds it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from compliance.web.meals_said import counted, found_words, gap, measured
from menus.mealpattern.patterns.amount import Stands
from menus.mealpattern.patterns.judge import Judged
from menus.mealpattern.patterns.rule import Force, Per

WIDE, HIGH = 240, 18
"""The box that a bar is drawn in."""
ROOM = Fraction(9, 10)
"""The share of the box up to the largest figure: what lies beyond is room for its mark."""
DAYS = frozenset({Per.DAY, Per.CHOOSE, Per.FRUIT_OR_SECOND_VEGETABLE})
WEEKS = frozenset({Per.WEEK, Per.WEEK_WITH_SURPLUS, Per.SHARE, Per.DAYS, Per.KINDS, Per.VARIETY})


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar. Places are counted from its left end, in units of WIDE; None where there is nothing to draw."""

    what: str
    says: str
    stands: str  # "met", "short", "over" or "unknown"
    is_part: bool  # of a component above it: a subgroup of vegetables
    filled: float
    open: float | None  # up to here it may be
    least: float | None
    most: float | None
    was: float | None
    by_choice: bool = False  # how far it goes depends on what is chosen

    @property
    def opening(self) -> float:
        """How wide the part is that nobody knows."""
        return max(0.0, (self.open or 0.0) - self.filled)

    @property
    def lacks(self) -> float:
        """How wide the gap up to the figure is."""
        return max(0.0, (self.least or 0.0) - max(self.filled, self.open or 0.0))

    @property
    def beyond(self) -> float:
        """How wide the part above the upper figure is."""
        return 0.0 if self.most is None else max(0.0, self.filled - self.most)


@dataclass(frozen=True, slots=True)
class _Figures:
    """What one bar is made of: the figure to reach and the one not to pass may stand in two rules."""

    reach: Judged | None
    stay: Judged | None

    @property
    def main(self) -> Judged:
        main = self.reach or self.stay
        assert main is not None  # made of one or the other
        return main

    @property
    def least(self) -> Fraction | None:
        return self.reach.rule.least if self.reach else None

    @property
    def most(self) -> Fraction | None:
        return self.stay.rule.most if self.stay else None


def day_bars(judged: Iterable[Judged], day: int, before: Iterable[Judged] = ()) -> list[Bar]:
    """Return the bars of one day, counted from 1; `before` is the same week without what is tried out."""
    return _bars(judged, before, day, DAYS)


def week_bars(judged: Iterable[Judged], before: Iterable[Judged] = ()) -> list[Bar]:
    """Return the bars of the week."""
    return _bars(judged, before, None, WEEKS)


def _bars(judged: Iterable[Judged], before: Iterable[Judged], day: int | None, per: frozenset[Per]) -> list[Bar]:
    known = {(each.rule.id, each.day): each for each in before}
    wanted = [each for each in judged if each.rule.per in per and each.day == day and not each.food]
    return [
        _bar(figures, known.get((figures.main.rule.id, day))) for figures in _together(wanted) if not _is_idle(figures)
    ]


def _is_idle(figures: _Figures) -> bool:
    """Whether there is none of what must not be passed, and nothing to reach: a bar without anything to show."""
    return figures.reach is None and figures.main.amount.high == 0


def _together(judged: Iterable[Judged]) -> list[_Figures]:
    """Put the upper figure of a component beside its lower one."""
    found: dict[str, _Figures] = {}
    for each in judged:
        held = found.get(each.rule.measure, _Figures(None, None))
        reach = each if each.rule.least is not None else held.reach
        stay = each if each.rule.most is not None else held.stay
        found[each.rule.measure] = _Figures(reach, stay)
    return list(found.values())


def _bar(figures: _Figures, before: Judged | None) -> Bar:
    main = figures.main
    amount = main.amount
    low, high = amount.low, amount.high
    was = before.amount.low if before and before.amount.low != low else None
    largest = max(value for value in (low, high, figures.least, figures.most, was, Fraction(0)) if value is not None)
    scale = WIDE * ROOM / largest if largest else Fraction(0)

    def place(value: Fraction | None) -> float | None:
        return None if value is None else round(float(value * scale), 1)

    over = figures.stay is not None and figures.stay.stands is Stands.OVER
    return Bar(
        what=main.rule.what,
        says=_says(figures),
        stands=str(Stands.OVER if over and main.stands is Stands.MET else main.stands),
        is_part="vegetables." in main.rule.measure,
        filled=place(low) or 0.0,
        open=None if amount.known else (place(high) or float(WIDE)),
        by_choice=amount.chosen,
        least=place(figures.least),
        most=place(figures.most),
        was=place(was),
    )


def _says(figures: _Figures) -> str:
    main = figures.main
    unit = main.rule.unit
    found = found_words(main.amount, unit, ", by choice,")
    if figures.least is not None:
        return f"{found} of {counted(figures.least, unit)}{_standing(figures)}"
    return f"{found}, at most {counted(figures.most or Fraction(0), unit)}{_standing(figures)}"


def _standing(figures: _Figures) -> str:
    main = figures.main
    if main.stands is Stands.UNKNOWN:
        return ": enough by some choices" if main.amount.chosen else ": not known whether it is enough"
    if main.stands is Stands.SHORT:
        return f": {gap(main)}"
    if figures.stay and figures.stay.stands is Stands.OVER and figures.most is not None:
        kind = "the planning figure" if figures.stay.rule.force is Force.GUIDANCE else "the figure"
        unit = main.rule.unit
        return f": {counted(figures.stay.over_at - figures.most, unit)} above {kind} of {measured(figures.most, unit)}"
    return ""
