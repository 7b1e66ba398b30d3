"""The label's list as a tree to look at."""

from __future__ import annotations

from dataclasses import dataclass, field

from menus.labels.cues import Voice
from menus.labels.evidence import Span
from menus.labels.listing import Item
from menus.labels.page import Page
from menus.labels.parsing import Parsed
from menus.labels.phrases import ReadItem


@dataclass(frozen=True, eq=False, slots=True)
class Node:
    """One item of the list for display: its words in place, in what voice, the lexicon phrases in it, its brackets.

    Nodes nest as deep as the label's brackets, so nothing here may walk them by recursion.
    """

    span: Span
    voice: Voice
    terms: tuple[tuple[Span, str], ...]
    children: tuple[Node, ...] = field(repr=False)


def nodes(parsed: Parsed) -> tuple[Node, ...]:
    """The outermost items of a parsed text; brackets nest as deep as it is long, so nothing here recurses."""
    by_item = {read.item: read for read in parsed.items}
    built: dict[Item, Node] = {}
    for read in reversed(parsed.items):  # an item stands before what its brackets hold
        built[read.item] = _node(parsed.page, by_item[read.item], tuple(built[child] for child in read.item.children))
    return tuple(built[read.item] for read in parsed.items if read.item.parent is None)


def _node(page: Page, read: ReadItem, children: tuple[Node, ...]) -> Node:
    tokens = [token for stretch in read.item.stretches for token in stretch]
    places = [page.span(token.start, token.end) for token in (*tokens[:1], *tokens[-1:])]
    places += [child.span for child in children]
    start = min((place.start for place in places), default=0)
    end = max((place.end for place in places), default=0)
    terms = tuple((page.span(phrase.start, phrase.end), phrase.term.phrase) for phrase in read.phrases)
    return Node(Span(page.part, start, end, page.folded.source[start:end]), read.voice, terms, children)
