"""What a batch's worth of one food credits."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Amount:
    """What a batch's worth of one food credits, in its component's unit, and how that comes about."""

    credit: Fraction
    apart: bool  # some of it credits more than the volume it takes
    steps: str
    turned: bool = False  # a count or a volume made into a weight first, which a weight on the line makes needless
