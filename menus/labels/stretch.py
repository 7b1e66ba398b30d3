"""What a stretch of a label says by itself. Labels repeat their ingredients, so stretches are kept once read."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from menus.labels.claims import Claim
from menus.labels.context import Context
from menus.labels.cutoff import stops_in_mid_air
from menus.labels.declaring import declared_codes
from menus.labels.evidence import ANY, Evidence, Kind, Part, Span
from menus.labels.joint import stands_alone
from menus.labels.parsing import Parsed, parse
from menus.labels.speaker import Speaker

_KEPT = 65_536
_LONGEST_KEPT = 2_000


@dataclass(frozen=True, eq=False, slots=True)
class Stretch:
    """One stretch read on its own; spans count from its start."""

    evidence: tuple[Evidence, ...]
    unread: tuple[Span, ...]
    claims: tuple[Claim, ...]
    cut_off: Evidence | None  # counts where nothing follows
    kinds: frozenset[tuple[str, Kind]]
    accounts: frozenset[str]  # codes that its ingredients may hold, forced into words or not; ANY for words not read
    declared: frozenset[str]  # codes that a declaration in it names, not a "contains" in the middle of the list
    is_weighed: bool  # it claims or declares, which is held against the rest of the label
    stands_alone: bool  # it says the same among its neighbours as by itself, and so do they
    first_stop: int  # where its first sentence outside brackets ends; 0 if it has no full stop


def read_stretch(context: Context, part: Part, text: str) -> Stretch:
    """Read the text by itself, or say again what it said last time."""
    if len(text) > _LONGEST_KEPT:
        return _read(context, part, text)
    return _kept(context, part, text)


@lru_cache(maxsize=256)
def kept_alone(context: Context) -> dict[str, Stretch]:
    """The stretches of ingredient lists read lately under this context that stand alone, by their text."""
    return {}


@lru_cache(maxsize=_KEPT)
def _kept(context: Context, part: Part, text: str) -> Stretch:
    stretch = _read(context, part, text)
    if stretch.stands_alone:
        alone = kept_alone(context)
        if len(alone) >= _KEPT:
            alone.clear()
        alone[text] = stretch
    return stretch


def _read(context: Context, part: Part, text: str) -> Stretch:
    parsed = parse(part, text, context.matcher)
    speaker = Speaker(context, parsed.page, {read.item: read for read in parsed.items})
    for read in parsed.items:
        speaker.speak(read)
    kinds = frozenset((piece.substance, piece.kind) for piece in speaker.evidence)
    return Stretch(
        evidence=tuple(speaker.evidence),
        unread=tuple(speaker.unread),
        claims=tuple(speaker.claims),
        cut_off=_cut_off(parsed) if part is Part.INGREDIENTS else None,
        kinds=kinds,
        accounts=frozenset(speaker.accounts),
        declared=declared_codes(parsed.items),
        is_weighed=bool(speaker.claims) or any(kind is Kind.DECLARED for _, kind in kinds),
        stands_alone=part is Part.INGREDIENTS and stands_alone(parsed),
        first_stop=_located(parsed, parsed.listing.first_stop),
    )


def _cut_off(parsed: Parsed) -> Evidence | None:
    if not stops_in_mid_air(parsed.tokens, parsed.listing.open_brackets, parsed.page.folded):
        return None
    last = parsed.tokens[-1]
    return Evidence(ANY, Kind.CUT_OFF, parsed.page.span(last.start, last.end))


def _located(parsed: Parsed, place: int) -> int:
    return parsed.page.folded.locate(place - 1, place)[1] if place else 0


def forget() -> None:
    """Let go of every stretch kept: for measuring."""
    _kept.cache_clear()
    kept_alone.cache_clear()
