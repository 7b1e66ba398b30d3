"""One figure of a meal pattern: what is counted, over what, how much is needed, and where that is written."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from menus.mealpattern.patterns.amount import ROUNDED_OFF


class Per(StrEnum):
    """Over what an amount is counted. `menus.mealpattern.patterns.counting` says how, one function each."""

    DAY = "day"
    WEEK = "week"
    WEEK_WITH_SURPLUS = "week-with-surplus"  # what other subgroups have beyond their own figures counts too
    AVERAGE = "average"  # of the days
    ENERGY_SHARE = "energy-share"
    SHARE = "share"
    DAYS = "days"  # on how many days
    KINDS = "kinds"  # how many different foods
    CHOOSE = "choose"  # how many components in their full amount
    FRUIT_OR_SECOND_VEGETABLE = "fruit-or-second-vegetable"
    VARIETY = "variety"  # subgroups, where vegetables stand in for fruit
    FOOD = "food"  # each food of one product kind
    FLOOR = "floor"  # below it, or without a figure at all, a food credits nothing
    SAID = "said"  # nothing that the file could show: said beside the answer


class Force(StrEnum):
    """What it is that is missed."""

    RULE = "rule"
    GUIDANCE = "guidance"  # the law has only a planning figure, or none


OF_EACH_MEAL = frozenset({Per.DAY, Per.WEEK, Per.CHOOSE, Per.FRUIT_OR_SECOND_VEGETABLE})
OF_THE_OFFER = frozenset({Per.AVERAGE, Per.ENERGY_SHARE, Per.SHARE})
CREDITED = frozenset({"cup", "oz eq", "fl oz", "portions"})


@dataclass(frozen=True, slots=True)
class Rule:
    """A row of a pattern, as it holds for one group, date and length of week."""

    id: str  # program file/name, the same at every date and for every group
    what: str
    per: Per
    measure: str
    of: str
    least: Fraction | None
    most: Fraction | None
    strict: bool  # `most` itself is too much
    unit: str
    force: Force
    note: str
    source: str
    verified: str  # "read" | "memory": whether the source was seen
    computed: bool = False  # scaled from a week of five days, where no table for that length was read

    @property
    def slack(self) -> Fraction:
        """By how much an amount may miss a figure through being written in decimals."""
        return ROUNDED_OFF if self.unit in CREDITED else Fraction(0)

    @property
    def least_by_each(self) -> bool:
        """Whether the least must be reached whichever dish a child chooses.

        So it is with whole components: each line, and each choice of a main dish, is to bring them in full (7 CFR
        210.10(k)(2), read; USDA's directions for its worksheet of a K-8 lunch menu, read in part). A subgroup of
        vegetables, or a kind, need only be offered: where only some choices bring it, it is not known.
        """
        return self.per in OF_EACH_MEAL and not set(self.measure) & set(".@")

    @property
    def most_by_each(self) -> bool:
        """Whether the upper figure is passed as soon as one choice passes it.

        Averages and shares are of all that is offered, weighted by how much of it (7 CFR 210.10(i)(3)(i), read): while
        nobody says how often each dish is taken, they are passed for sure only when every choice passes them.
        """
        return self.per not in OF_THE_OFFER
