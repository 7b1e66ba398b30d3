"""Read a label: what it says about each substance, where it says so, and what it leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from menus.labels.claims import Claim
from menus.labels.context import Context, context_of
from menus.labels.contradictions import Told, contradictions
from menus.labels.cutting import Passage, passages
from menus.labels.evidence import ANY, Evidence, Kind, Part, Span
from menus.labels.label import LabelText
from menus.labels.lexicon import Lexicon
from menus.labels.parsing import Parsed, parse
from menus.labels.supplied.said import supplied_passages
from menus.labels.tree import Node, nodes
from menus.substances.catalogue import Catalogue


@dataclass(frozen=True)
class Reading:
    """Everything one label version says. Codes are at hand; spans and tree are worked out when asked for."""

    label: LabelText
    context: Context = field(repr=False)
    listed: tuple[Passage, ...] = field(repr=False, compare=False)  # the ingredient list, stretch by stretch
    beside: tuple[Passage, ...] = field(repr=False, compare=False)  # the other parts

    @cached_property
    def evidence(self) -> tuple[Evidence, ...]:
        """Every piece, in the order of the text."""
        pieces = tuple(self._evidence())
        return pieces + tuple(contradictions(pieces, self.claims, self._told(), self.context))

    @cached_property
    def unread(self) -> tuple[Span, ...]:
        """The words that nobody knows."""
        return tuple(_moved(span, start) for start, stretch in self.passages for span in stretch.unread)

    @cached_property
    def claims(self) -> tuple[Claim, ...]:
        """What the label says it is free of."""
        return tuple(
            replace(claim, span=_moved(claim.span, start), reach=claim.reach and _moved(claim.reach, start))
            for start, stretch in self.passages
            for claim in stretch.claims
        )

    @property
    def passages(self) -> tuple[Passage, ...]:
        return self.listed + self.beside

    @property
    def tree(self) -> tuple[Node, ...]:
        """The label's list as it nests, for display."""
        return tuple(node for parsed in self.parsed() for node in nodes(parsed))

    def parsed(self) -> Iterator[Parsed]:
        """Every part of the package taken apart, whole."""
        for part, text in _written(self.label):
            if part is not Part.SUPPLIED:  # codes are no words
                yield parse(part, text, self.context.matcher)

    def kinds(self) -> dict[str, set[Kind]]:
        """The kinds of evidence on each substance."""
        stretches = [stretch for _, stretch in self.passages]
        pairs = set[tuple[str, Kind]]().union(*(stretch.kinds for stretch in stretches))
        pairs.update((piece.substance, piece.kind) for piece in self._on_the_whole())
        if any(stretch.is_weighed for stretch in stretches):
            pairs.update((piece.substance, piece.kind) for piece in self._contradictions())
        told: dict[str, set[Kind]] = {}
        for code, kind in pairs:
            told.setdefault(code, set()).add(kind)
        return told

    def _contradictions(self) -> Iterator[Evidence]:
        """What the parts of the label say against each other, for its kinds alone.

        Putting every piece in its place is most of the work, and only a claim about one ingredient depends on places.
        """
        if any(claim.reach for _, stretch in self.passages for claim in stretch.claims):
            return iter(self.evidence)
        pieces = [piece for _, stretch in self.passages for piece in stretch.evidence]
        claims = [claim for _, stretch in self.passages for claim in stretch.claims]
        return contradictions(pieces, claims, self._told(), self.context)

    def _told(self) -> Told:
        stretches = [stretch for _, stretch in self.passages]
        return Told(
            accounts=frozenset[str]().union(*(stretch.accounts for stretch in stretches)),
            declared=frozenset[str]().union(*(stretch.declared for stretch in stretches)),
        )

    def _evidence(self) -> Iterator[Evidence]:
        for start, stretch in self.passages:
            if start:
                yield from (_piece_moved(piece, start) for piece in stretch.evidence)
            else:
                yield from stretch.evidence
        yield from self._on_the_whole()

    def _on_the_whole(self) -> Iterator[Evidence]:
        """What only the label as a whole tells: that it stops in mid-air, that there is no list."""
        if not self.listed:
            yield Evidence(ANY, Kind.NO_LABEL)
            return
        start, last = self.listed[-1]
        if last.cut_off is not None:
            yield _piece_moved(last.cut_off, start)


def read(label: LabelText, lexicon: Lexicon | None = None, catalogue: Catalogue | None = None) -> Reading:
    """Read every part of the label. Any text gives a reading; nothing in it can raise."""
    context = context_of(label, lexicon or Lexicon.load(), catalogue or Catalogue.load())
    listed: list[Passage] = []
    beside: list[Passage] = []
    for part, text in _written(label):
        if part is Part.SUPPLIED:
            beside.extend(supplied_passages(context, text))
        else:
            (listed if part is Part.INGREDIENTS else beside).extend(passages(context, part, text))
    return Reading(label, context, tuple(listed), tuple(beside))


def _written(label: LabelText) -> Iterator[tuple[Part, str]]:
    return ((part, text) for part, text in label.parts() if text and not text.isspace())


def _moved(span: Span, by: int) -> Span:
    return Span(span.part, span.start + by, span.end + by, span.words)


def _piece_moved(piece: Evidence, by: int) -> Evidence:
    if piece.span is None or not by:
        return piece
    return Evidence(
        piece.substance, piece.kind, _moved(piece.span, by), piece.term, piece.source, piece.verified, piece.path
    )
