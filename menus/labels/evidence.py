"""Evidence: what the facts say about one substance in one food.

Labels produce it, the kitchen folds it upward and adds carry-over, the rules judge it. Nothing here knows a child.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from enum import IntEnum, StrEnum

ANY = "*"
"""The substance of evidence that could concern anything: an unread word may name whatever a child must avoid."""


class Level(IntEnum):
    """How sure the facts are, in the order present > possible > unread > absent."""

    ABSENT = 0
    UNREAD = 1
    POSSIBLE = 2
    PRESENT = 3


class Kind(StrEnum):
    """Why a piece of evidence stands where it stands."""

    __hash__ = str.__hash__  # an enum's own is written in Python, and kinds are hashed by the million

    NAMED = "named"  # the ingredient list says the substance itself
    DERIVED = "derived"  # the ingredient list names something made from it (whey)
    DECLARED = "declared"  # a "contains" declaration
    DISAGREEMENT = "disagreement"  # declaration and ingredients do not tell the same
    CLAIM_CONTRADICTED = "claim-contradicted"  # claimed to be free of it, and named all the same
    MAY_CONTAIN = "may-contain"
    SHARED_LINE = "shared-line"
    SHARED_FACILITY = "shared-facility"
    GROUP = "group"  # a group named without its member ("nuts")
    MAY_DERIVE = "may-derive"  # may be made from it, and no law forces the label to say so
    USUAL = "usual"  # a food that usually holds it (mayonnaise and egg, milk and lactose)
    ONCE_MEMBER = "once-member"  # left the legal group that a statement may still mean (coconut and tree nuts)
    REFINED_OIL = "refined-oil"  # highly refined oil, exempt from naming
    NEAR_MISS = "near-miss"  # a slip of the pen away from a known word
    CARRY_OVER = "carry-over"  # equipment, oil, utensil, table
    AIRBORNE = "airborne"  # cooking steam or flour dust, onto food that stood open
    NEARBY = "nearby"  # it stood open beside the other: a splash, a drip, a crumb
    TOGETHER = "together"  # two foods that may not meet stand in one dish
    SAME_MEAL = "same-meal"  # or in two dishes of one meal
    UNREAD_WORD = "unread-word"
    CUT_OFF = "cut-off"  # the text stops in mid-air
    NO_LABEL = "no-label"
    STALE_LABEL = "stale-label"
    UNIDENTIFIED = "unidentified"  # nobody knows which product this is
    HOME_MADE = "home-made"  # a kitchen whose cross-contact nobody controls


LEVEL_OF_KIND = {
    Kind.NAMED: Level.PRESENT,
    Kind.DERIVED: Level.PRESENT,
    Kind.DECLARED: Level.PRESENT,
    Kind.DISAGREEMENT: Level.PRESENT,
    Kind.CLAIM_CONTRADICTED: Level.PRESENT,
    Kind.MAY_CONTAIN: Level.POSSIBLE,
    Kind.SHARED_LINE: Level.POSSIBLE,
    Kind.SHARED_FACILITY: Level.POSSIBLE,
    Kind.GROUP: Level.POSSIBLE,
    Kind.MAY_DERIVE: Level.POSSIBLE,
    Kind.USUAL: Level.POSSIBLE,
    Kind.ONCE_MEMBER: Level.POSSIBLE,
    Kind.REFINED_OIL: Level.POSSIBLE,
    Kind.NEAR_MISS: Level.POSSIBLE,
    Kind.CARRY_OVER: Level.POSSIBLE,
    Kind.AIRBORNE: Level.POSSIBLE,
    Kind.NEARBY: Level.POSSIBLE,
    Kind.TOGETHER: Level.PRESENT,
    Kind.SAME_MEAL: Level.POSSIBLE,
    Kind.UNREAD_WORD: Level.UNREAD,
    Kind.CUT_OFF: Level.UNREAD,
    Kind.NO_LABEL: Level.UNREAD,
    Kind.STALE_LABEL: Level.UNREAD,
    Kind.UNIDENTIFIED: Level.UNREAD,
    Kind.HOME_MADE: Level.UNREAD,
}

CERTAIN = frozenset({Kind.NAMED, Kind.DERIVED, Kind.DECLARED})
"""The label says outright that it is in the food."""

STANDING = frozenset({Kind.REFINED_OIL, Kind.ONCE_MEMBER, Kind.MAY_DERIVE})
"""What licensed staff may decide once for a child and a substance, whatever food it is in."""

BY_WORD = frozenset({Kind.MAY_DERIVE})
"""Standing decisions that hold for one term of the lexicon: whoever may have "natural flavor" may not have "spice"."""


class Part(StrEnum):
    """The parts of a label, as they are stored."""

    INGREDIENTS = "ingredients"
    CONTAINS = "contains"
    PRECAUTIONARY = "precautionary"
    CLAIMS = "claims"
    SUPPLIED = "supplied"  # a supplier's data about it, which is on no package


@dataclass(frozen=True, slots=True)
class Span:
    """Words of a label in place: `text[start:end]` of the stored part, in characters of the text as stored."""

    part: Part
    start: int
    end: int
    words: str


@dataclass(frozen=True, slots=True)
class Step:
    """One link between a food and the evidence: a recipe line, a product, a label version, a piece of equipment."""

    kind: str  # "recipe" | "product" | "label"; from the kitchen "at" | "surface" | "dish"
    ref: str  # the id of the row it stands for
    name: str  # as a person says it


@dataclass(frozen=True, slots=True)
class Evidence:
    """One piece of evidence about one substance (or ANY), with the chain that leads to it, outermost step first."""

    substance: str
    kind: Kind
    span: Span | None = None
    term: str = ""  # the lexicon phrase that matched, or the word suggested for a near miss
    source: str = ""  # the published source of that lexicon row or rule
    verified: str = ""  # "read" | "memory": whether that source was seen; "local": accepted here
    path: tuple[Step, ...] = ()
    _hash: int = field(default=0, init=False, repr=False, compare=False)

    def __hash__(self) -> int:
        # Worked out once: a path is deep, and folding and carrying over ask for it again and again.
        if not self._hash:
            said = (self.substance, self.kind, self.span, self.term, self.source, self.verified, self.path)
            object.__setattr__(self, "_hash", hash(said))
        return self._hash

    @property
    def level(self) -> Level:
        return LEVEL_OF_KIND[self.kind]

    def under(self, *steps: Step) -> Evidence:
        """The same evidence seen from further up: `steps` come before its path."""
        return replace(self, path=steps + self.path)


def lifted(pieces: Iterable[Evidence], *steps: Step) -> Iterator[Evidence]:
    """Every piece seen from one food further up."""
    return (piece.under(*steps) for piece in pieces)
