"""Read a label: what it says about each substance, where it says so, and what it leaves open."""

from __future__ import annotations

from dataclasses import dataclass, field

from menus.labels.brackets import certain_codes, open_brackets
from menus.labels.claims import Claim
from menus.labels.cues import PRECAUTIONS, Voice, find_cues
from menus.labels.cutoff import stops_in_mid_air
from menus.labels.evidence import ANY, Evidence, Kind, Part, Span
from menus.labels.label import LabelText
from menus.labels.law import forced_names
from menus.labels.lexicon import SILENT, Entry, Lexicon, Meaning
from menus.labels.listing import Item, build
from menus.labels.matcher import matcher_of
from menus.labels.near_miss import near_misses
from menus.labels.phrases import Phrase, ReadItem, read_item
from menus.labels.text import fold
from menus.labels.tokens import Token, tokenise
from menus.labels.tree import Node, Page, ReadPart
from menus.labels.voices import settle
from menus.substances.catalogue import Catalogue

_FIRST_VOICE = {
    Part.INGREDIENTS: Voice.INGREDIENT,
    Part.CONTAINS: Voice.DECLARED,
    Part.PRECAUTIONARY: Voice.MAY_CONTAIN,
    Part.CLAIMS: Voice.ASIDE,
}
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


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything one label version says."""

    evidence: tuple[Evidence, ...]
    unread: tuple[Span, ...]
    claims: tuple[Claim, ...]
    parts: tuple[ReadPart, ...] = field(repr=False, compare=False)

    @property
    def tree(self) -> tuple[Node, ...]:
        """The label's list as it nests, for display; made when asked for."""
        return tuple(node for part in self.parts for node in part.nodes())


def read(label: LabelText, lexicon: Lexicon | None = None, catalogue: Catalogue | None = None) -> Reading:
    """Read every part of the label. Any text gives a reading; nothing in it can raise."""
    reader = _Reader(label, lexicon or Lexicon.load(), catalogue or Catalogue.load())
    return reader.reading()


class _Reader:
    def __init__(self, label: LabelText, lexicon: Lexicon, catalogue: Catalogue) -> None:
        self.label = label
        self.lexicon = lexicon
        self.catalogue = catalogue
        self.matcher = matcher_of(lexicon)
        self.forced = forced_names(catalogue, label.jurisdiction, label.regulator, label.seen_on)
        self.evidence: list[Evidence] = []
        self.unread: list[Span] = []
        self.claims: list[Claim] = []
        self.parts: list[ReadPart] = []

    def reading(self) -> Reading:
        for part, text in self.label.parts():
            if text and not text.isspace():
                self._read_part(part, text)
        if not self.label.ingredients.strip():
            self.evidence.append(Evidence(ANY, Kind.NO_LABEL))
        return Reading(tuple(self.evidence), tuple(self.unread), tuple(self.claims), tuple(self.parts))

    def _read_part(self, part: Part, text: str) -> None:
        folded = fold(text)
        tokens = tokenise(folded)
        listing = build(tokens, find_cues(folded.text), _FIRST_VOICE[part])
        items = [read_item(item, self.matcher) for item in listing.items]
        settle(items)
        open_brackets(items)
        page = Page(part, folded)
        by_item = {read.item: read for read in items}
        for read in items:
            self._speak(read, by_item, page)
        if part is Part.INGREDIENTS:
            self._cut_off(tokens, listing.open_brackets, page)
        self.parts.append(ReadPart(page, tuple(items)))

    def _speak(self, read: ReadItem, by_item: dict[Item, ReadItem], page: Page) -> None:
        for phrase in read.phrases:
            if phrase.denied or read.voice is Voice.FREE or phrase.term.is_claim:
                self._claim(phrase, page)
            elif read.voice is not Voice.ASIDE or phrase.term.is_plain_name:
                self._say(phrase, read, by_item, page)
        if read.voice is not Voice.ASIDE and not read.item.headed:
            for token in read.unknown:
                self._wonder(token, page)

    def _claim(self, phrase: Phrase, page: Page) -> None:
        codes = {code for entry in phrase.term.entries for code in entry.substances}
        if codes:
            span = page.span(phrase.start, phrase.end)
            self.claims.append(Claim(span, tuple(sorted(codes)), phrase.term.phrase))

    def _say(self, phrase: Phrase, read: ReadItem, by_item: dict[Item, ReadItem], page: Page) -> None:
        if self._is_said_better(phrase, read, by_item):
            return
        span: Span | None = None
        for entry in phrase.term.entries:
            if not entry.holds(self.label.jurisdiction, self.label.seen_on):
                continue
            for code in entry.substances:
                kind = self._kind(entry, code, read.voice, read.is_opened)
                if kind is None:
                    continue
                span = span or page.span(phrase.start, phrase.end)
                self.evidence.append(Evidence(code, kind, span, phrase.term.phrase, entry.source, entry.verified))

    def _kind(self, entry: Entry, code: str, voice: Voice, opened: bool) -> Kind | None:
        meaning = entry.meaning
        if meaning in SILENT:
            return None
        if meaning is Meaning.MAY_DERIVE and (opened or code in self.forced):
            return None
        if meaning in (Meaning.USUAL, Meaning.EXEMPT) and opened:
            return None
        if voice in PRECAUTIONS and meaning is not Meaning.REFINED_OIL:
            return None if meaning in (Meaning.MAY_DERIVE, Meaning.EXEMPT) else _KIND_OF_VOICE[voice]
        if voice is Voice.DECLARED and meaning in _CERTAIN:
            return Kind.DECLARED
        return _KIND_OF_MEANING[meaning]

    def _is_said_better(self, phrase: Phrase, read: ReadItem, by_item: dict[Item, ReadItem]) -> bool:
        """A bare group beside its member in brackets adds nothing: "fish (cod)", "almonds (tree nuts)"."""
        if not phrase.term.is_plain_name:
            return False
        beside = read.specified
        if read.item.parent is not None and read.is_plain:
            beside |= certain_codes(by_item[read.item.parent])
        if not beside:
            return False
        groups = {code for entry in phrase.term.entries for code in entry.substances}
        return any(code in self.catalogue.descendants(group) for group in groups for code in beside)

    def _wonder(self, token: Token, page: Page) -> None:
        span = page.span(token.start, token.end)
        near = near_misses(self.lexicon, token.word)
        suggestion = near[0].phrase if near else ""
        self.unread.append(span)
        self.evidence.append(Evidence(ANY, Kind.UNREAD_WORD, span, suggestion))
        for term in near:
            for entry in term.entries:
                if entry.meaning in _MISSABLE:
                    self.evidence.extend(
                        Evidence(code, Kind.NEAR_MISS, span, term.phrase, entry.source, entry.verified)
                        for code in entry.substances
                    )

    def _cut_off(self, tokens: list[Token], open_brackets: int, page: Page) -> None:
        if stops_in_mid_air(tokens, open_brackets, page.folded):
            last = tokens[-1]
            self.evidence.append(Evidence(ANY, Kind.CUT_OFF, page.span(last.start, last.end)))
