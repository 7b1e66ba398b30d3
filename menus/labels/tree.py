"""The label's list as a tree to look at, and places in its folded text as spans of the stored one."""

from __future__ import annotations

from dataclasses import dataclass, field

from menus.labels.cues import Voice
from menus.labels.evidence import Part, Span
from menus.labels.listing import Item
from menus.labels.phrases import ReadItem
from menus.labels.text import FoldedText


@dataclass(frozen=True, eq=False, slots=True)
class Node:
    """One item of the list for display: its words in place, in what voice, the lexicon phrases in it, its brackets.

    Nodes nest as deep as the label's brackets, so nothing here may walk them by recursion.
    """

    span: Span
    voice: Voice
    terms: tuple[tuple[Span, str], ...]
    children: tuple[Node, ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class ReadPart:
    """One part of the label as it was read."""

    page: Page
    items: tuple[ReadItem, ...]

    def nodes(self) -> tuple[Node, ...]:
        """Its outermost items."""
        by_item = {read.item: read for read in self.items}
        return tuple(self.page.node(read, by_item) for read in self.items if read.item.parent is None)


@dataclass(frozen=True, slots=True)
class Page:
    """One stored part, to say where things are in it."""

    part: Part
    folded: FoldedText

    def span(self, start: int, end: int) -> Span:
        start, end = self.folded.locate(start, end) if end > start else (start, start)
        return Span(self.part, start, end, self.folded.source[start:end])

    def node(self, read: ReadItem, by_item: dict[Item, ReadItem]) -> Node:
        """The item and all under it; brackets nest as deep as the label is long, so this must not recurse deeply."""
        order = [read.item]
        for item in order:
            order.extend(item.children)
        built: dict[Item, Node] = {}
        for item in reversed(order):
            children = tuple(built[child] for child in item.children)
            built[item] = self._node(by_item[item], children)
        return built[read.item]

    def _node(self, read: ReadItem, children: tuple[Node, ...]) -> Node:
        tokens = [token for stretch in read.item.stretches for token in stretch]
        start = min([token.start for token in tokens] + [child.span.start for child in children], default=0)
        end = max([token.end for token in tokens] + [child.span.end for child in children], default=0)
        terms = tuple((self.span(phrase.start, phrase.end), phrase.term.phrase) for phrase in read.phrases)
        return Node(self.span(start, end), read.voice, terms, children)
