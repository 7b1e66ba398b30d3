"""What a food of a lunchbox meets: the child's own restrictions, the room's rules, a spread that waits, a texture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from compliance.checks.lunchfood import DRINKS
from compliance.checks.lunchsetting import Setting
from compliance.rules.judge import judge
from compliance.rules.values import Finding, Outcome, RestrictionType
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Level
from menus.mealpattern.spreads import spread_in
from menus.mealpattern.textures import DRINK, FOOD, Fits, wanted
from menus.substances.combinations import combinations
from roster.life.lunchbox import Packed
from roster.models import TextureLevel


class Because(StrEnum):
    """What a food meets."""

    CHILD = "child"  # a restriction of the child itself
    ROOM = "room"  # a rule of the room
    SPREAD = "spread"  # a spread that the site has not approved
    TEXTURE = "texture"


@dataclass(frozen=True, slots=True)
class Cause:
    """One reason. For a substance: how far it is known to be in the food, and the words that say so."""

    because: Because
    outcome: Outcome
    substance: str = ""
    level: Level = Level.UNREAD
    words: str = ""
    fits: str = ""  # of texture: "unknown" | "other" | "above"


def causes_of(packed: Packed, pieces: Pieces, setting: Setting) -> tuple[Cause, ...]:
    """Return each reason once, the gravest first."""
    causes = [
        *(cause for kind in setting.types for cause in _met(kind, pieces, Because.CHILD)),
        *(cause for kind in setting.rules for cause in _met(kind, pieces, Because.ROOM)),
        *_spread(packed, setting.approved),
        *_textured(packed, setting.texture),
    ]
    return tuple(sorted(dict.fromkeys(causes), key=lambda each: -each.outcome))


def causes_together(
    types: Iterable[RestrictionType], pieces: Sequence[Pieces], alone: Iterable[Cause]
) -> tuple[Cause, ...]:
    """Return what a child who keeps two foods apart within a meal meets only when the box is eaten as one."""
    apart = [kind for kind in types if kind.substance in combinations()]
    known = set(alone)
    every = tuple(dict.fromkeys(piece for found in pieces for piece in found))
    causes = (cause for kind in apart for cause in _met(kind, every, Because.CHILD))
    return tuple(dict.fromkeys(cause for cause in causes if cause not in known))


def _met(kind: RestrictionType, pieces: Pieces, because: Because) -> list[Cause]:
    verdict = judge(kind, pieces)
    return [_cause(kind, finding, because) for finding in verdict.findings if not finding.allowed]


def _cause(kind: RestrictionType, finding: Finding, because: Because) -> Cause:
    span = finding.evidence.span
    return Cause(because, finding.outcome, kind.substance, finding.evidence.level, span.words if span else "")


def _spread(packed: Packed, approved: frozenset[int]) -> list[Cause]:
    """A spread in place of peanut butter waits for the site, until this label of it is approved for the room."""
    if not spread_in(packed.name) and not (packed.product and spread_in(packed.product.name)):
        return []
    labels = packed.product.current_labels if packed.product else []
    if labels and labels[0].pk in approved:
        return []
    return [Cause(Because.SPREAD, Outcome.REFER)]


def _textured(packed: Packed, texture: TextureLevel | None) -> list[Cause]:
    if texture is None:
        return []
    found = {each.fits for each in wanted(texture.food_level, texture.drink_level, packed.texture, _may_be(packed))}
    if not found:
        return []
    worst = Fits.UNKNOWN if Fits.UNKNOWN in found else Fits.OTHER if Fits.OTHER in found else Fits.ABOVE
    outcome = Outcome.WITHHOLD if worst is Fits.ABOVE else Outcome.REFER
    return [Cause(Because.TEXTURE, outcome, fits=worst.value)]


def _may_be(packed: Packed) -> tuple[str, ...]:
    if packed.household:
        return (DRINK,) if packed.household in DRINKS else (FOOD,)
    return (FOOD, DRINK)
