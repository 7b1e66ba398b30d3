"""Two foods that may each be had, and not together: a doubt about one of them is a doubt about the two."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from compliance.rules.values import Finding, Outcome
from menus.labels.concerning import concerning, words_of
from menus.labels.evidence import ANY, Evidence, Kind
from menus.substances.catalogue import Catalogue
from menus.substances.combinations import Combination, Side

Judged = Callable[[Iterable[Evidence]], list[Finding]]
"""Says what the rules find in pieces of evidence."""


def meeting(combination: Combination, food: Sequence[Evidence], judged: Judged, plainly: Judged) -> list[Finding]:
    """Return what a food says of the two together: no graver than what it says of the milder of them.

    So more evidence of either is never milder. What could concern anything is left out; it counts by itself. Where both
    would stop the food, that is said of each, with the words of the other, and `plainly`: what was allowed of either
    has been considered by then.
    """
    one, other = (judged(side_of(side, food)) for side in (combination.one, combination.other))
    if not (one and other):
        return []
    reached = min(counting(one), counting(other))
    if reached is Outcome.WITHHOLD:
        return plainly(_together(combination, _gravest(one), _gravest(other)))
    return [finding for side in (one, other) if counting(side) is reached for finding in side]


def side_of(side: Side, food: Iterable[Evidence]) -> list[Evidence]:
    """Return the pieces that bear on one side, each once."""
    known = [piece for piece in food if piece.substance != ANY]
    found = (piece for code in side.substances for piece in concerning(code, known, Catalogue.load()))
    return list(dict.fromkeys(found))


def counting(findings: Iterable[Finding]) -> Outcome:
    """Return the gravest outcome that no allowance covers."""
    return max((finding.outcome for finding in findings if not finding.allowed), default=Outcome.NONE_FOUND)


def _gravest(findings: Iterable[Finding]) -> Evidence:
    """The piece that says it outright; among several always the same one, in whatever order they come."""
    grave = (each for each in findings if each.outcome is Outcome.WITHHOLD and not each.allowed)
    return min((each.evidence for each in grave), key=lambda piece: (-piece.level, repr(piece)))


def _together(combination: Combination, one: Evidence, other: Evidence) -> Iterator[Evidence]:
    for piece, against, side in ((one, other, combination.other), (other, one, combination.one)):
        yield Evidence(
            combination.code,
            Kind.TOGETHER,
            span=piece.span,
            term=f"“{words_of(piece)}”, and the same food holds {side.name} (“{words_of(against)}”)",
            source=piece.source,
            verified=piece.verified,
            path=piece.path,
        )
