"""From what an item's words mean to evidence: who says it, where the law would have it named, what it leaves open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from menus.labels.brackets import certain_codes
from menus.labels.claims import Claim
from menus.labels.context import Context
from menus.labels.cues import PRECAUTIONS, Voice
from menus.labels.evidence import ANY, Evidence, Kind, Span
from menus.labels.lexicon import SILENT, Entry, Meaning, Term
from menus.labels.listing import Item
from menus.labels.mending import Slip
from menus.labels.near_miss import near_misses
from menus.labels.page import Page
from menus.labels.phrases import Phrase, ReadItem
from menus.labels.tokens import Token

_KIND_OF_VOICE = {
    Voice.MAY_CONTAIN: Kind.MAY_CONTAIN,
    Voice.SHARED_LINE: Kind.SHARED_LINE,
    Voice.SHARED_FACILITY: Kind.SHARED_FACILITY,
}
_KIND_OF_MEANING = {
    Meaning.NAMED: Kind.NAMED,
    Meaning.DERIVED: Kind.DERIVED,
    Meaning.USUAL: Kind.USUAL,
    Meaning.GROUP: Kind.GROUP,
    Meaning.MAY_DERIVE: Kind.MAY_DERIVE,
    Meaning.EXEMPT: Kind.MAY_DERIVE,
    Meaning.REFINED_OIL: Kind.REFINED_OIL,
}
_CERTAIN = frozenset({Meaning.NAMED, Meaning.DERIVED})
_MISSABLE = _CERTAIN | {Meaning.GROUP, Meaning.USUAL}
_CLAIMED = frozenset({Meaning.NAMED, Meaning.GROUP, Meaning.CLAIM})


@dataclass(slots=True)
class Speaker:
    """Collects what the items of one page say."""

    context: Context
    page: Page
    by_item: dict[Item, ReadItem]
    evidence: list[Evidence] = field(default_factory=list)
    unread: list[Span] = field(default_factory=list)
    claims: list[Claim] = field(default_factory=list)
    _ends: dict[Item, int] = field(default_factory=dict)
    accounts: set[str] = field(default_factory=set)  # what the ingredients named may hold, forced into words or not

    def speak(self, read: ReadItem) -> None:
        """Take in all that this item says."""
        claiming = [phrase for phrase in read.phrases if _claims(phrase, read)]
        if claiming:
            reach = self._reach(read)
            for phrase in claiming:
                self._claim(phrase, reach)
        for phrase in read.phrases:
            if phrase.term.is_silent or _is_denied(phrase, read):
                continue
            if read.voice is not Voice.ASIDE or phrase.term.is_plain_name:
                self._say(phrase, read)
        if read.voice is not Voice.ASIDE and not read.item.headed:
            for token in read.unknown:
                self._wonder(token, read.voice)
            for slip in read.slips:
                self._suspect(slip, read.voice)

    def _claim(self, phrase: Phrase, reach: Span | None) -> None:
        entries = [entry for entry in phrase.term.entries if entry.meaning is Meaning.CLAIM] or phrase.term.entries
        codes = {code for entry in entries for code in entry.substances}
        denied = {code for entry in entries if entry.meaning in _CLAIMED for code in entry.substances}
        if codes:
            span = self.page.span(phrase.start, phrase.end)
            self.claims.append(Claim(span, tuple(sorted(codes)), phrase.term.phrase, tuple(sorted(denied)), reach))

    def _reach(self, read: ReadItem) -> Span | None:
        """ "Vegan" by itself speaks of the food, "vegan chocolate chips (cocoa, sugar)" of the chips."""
        bare = not read.unknown and all(phrase.denied or phrase.term.is_filler for phrase in read.phrases)
        if read.voice is Voice.FREE or bare:
            return None
        start = min(token.start for stretch in read.item.stretches for token in stretch)
        return self.page.span(start, self._end(read.item))

    def _end(self, item: Item) -> int:
        """Where the item, its brackets and what stands under it end; worked out once for all, from the innermost."""
        if not self._ends:
            for each in reversed(self.by_item):
                own = (token.end for stretch in each.stretches for token in stretch[-1:])
                below = (self._ends[other] for other in (*each.children, *each.headed))
                self._ends[each] = max((*own, *below), default=0)
        return self._ends[item]

    def _say(self, phrase: Phrase, read: ReadItem) -> None:
        if read.voice is Voice.INGREDIENT:
            self.accounts.update(code for entry in phrase.term.entries for code in entry.substances)
        if self._is_said_better(phrase, read):
            return
        span: Span | None = None
        for entry in phrase.term.entries:
            if not entry.holds(self.context.jurisdiction, self.context.on):
                continue
            for code in entry.substances:
                kind = self._kind(entry, code, read)
                if kind is None:
                    continue
                span = span or self.page.span(phrase.start, phrase.end)
                self.evidence.append(Evidence(code, kind, span, phrase.term.phrase, entry.source, entry.verified))

    def _kind(self, entry: Entry, code: str, read: ReadItem) -> Kind | None:
        meaning = entry.meaning
        if meaning in SILENT:
            return None
        if meaning is Meaning.MAY_DERIVE and (read.is_opened or code in self.context.forced):
            return None
        if meaning in (Meaning.USUAL, Meaning.EXEMPT) and read.is_opened:
            return None
        if read.voice in PRECAUTIONS and meaning is not Meaning.REFINED_OIL:
            return None if meaning in (Meaning.MAY_DERIVE, Meaning.EXEMPT) else _KIND_OF_VOICE[read.voice]
        if read.voice is Voice.DECLARED and meaning in _CERTAIN:
            return Kind.DECLARED
        return _KIND_OF_MEANING[meaning]

    def _is_said_better(self, phrase: Phrase, read: ReadItem) -> bool:
        """A bare group beside its member in brackets adds nothing: "fish (cod)", "almonds (tree nuts)"."""
        if not phrase.term.is_plain_name:
            return False
        beside = read.specified
        if read.item.parent is not None and read.is_plain:
            beside |= certain_codes(self.by_item[read.item.parent])
        if not beside:
            return False
        groups = {code for entry in phrase.term.entries for code in entry.substances}
        return any(code in self.context.catalogue.descendants(group) for group in groups for code in beside)

    def _wonder(self, token: Token, voice: Voice) -> None:
        span = self.page.span(token.start, token.end)
        near = near_misses(self.context.lexicon, token.word)
        suggestion = near[0].phrase if near else ""
        if voice is Voice.INGREDIENT:
            self.accounts.add(ANY)
        self.unread.append(span)
        self.evidence.append(Evidence(ANY, Kind.UNREAD_WORD, span, suggestion))
        self._miss(near, span)

    def _suspect(self, slip: Slip, voice: Voice) -> None:
        """A word plainly meant for a known one is no riddle, yet never more than possible."""
        if voice is Voice.INGREDIENT:
            self.accounts.update(code for term in slip.terms for entry in term.entries for code in entry.substances)
        self._miss(slip.terms, self.page.span(slip.token.start, slip.token.end))

    def _miss(self, near: Iterable[Term], span: Span) -> None:
        for term in near:
            for entry in term.entries:
                if entry.meaning in _MISSABLE:
                    self.evidence.extend(
                        Evidence(code, Kind.NEAR_MISS, span, term.phrase, entry.source, entry.verified)
                        for code in entry.substances
                    )


def _is_denied(phrase: Phrase, read: ReadItem) -> bool:
    return phrase.denied or read.voice is Voice.FREE


def _claims(phrase: Phrase, read: ReadItem) -> bool:
    """Whether it says that something is not in the food: "vegan", and every substance denied."""
    return phrase.term.is_claim or (_is_denied(phrase, read) and not phrase.term.is_silent)
