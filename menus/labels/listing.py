"""The nested list a label is: items between commas, their brackets, their headings, the voice they are said in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from menus.labels.cues import Cue, Voice
from menus.labels.tokens import Mark, Token

_OILS = frozenset({"oil", "shortening", "fat"})
_CLASSES = frozenset(
    {
        "agent", "antioxidant", "color", "coloring", "emulsifier", "enhancer", "humectant", "preservative", "regulator",
        "sequestrant", "stabilizer", "stabiliser", "sweetener", "thickener",
    }
)  # fmt: skip
"""Last words of the functional classes of Codex CXG 36-1989: a number after them is an additive's (INS)."""
_ONE_OF = frozenset({"may", "contain", "one", "or", "more", "of", "the", "following"})


@dataclass(eq=False, slots=True)
class Item:
    """One item. `stretches` are its words before, between and after its brackets; `children` what the brackets hold."""

    voice: Voice
    parent: Item | None
    heading: Item | None  # "Filling:" before it in the same sentence
    sentence: int
    in_oil: bool = False  # the words it hangs under are an oil or fat: "vegetable oil (soybean, palm)"
    in_class: bool = False  # so are the words of an additive class: "emulsifiers (322, 471)"
    backward: bool = False
    is_heading: bool = False
    stretches: list[list[Token]] = field(default_factory=lambda: [[]])
    children: list[Item] = field(default_factory=list)
    headed: list[Item] = field(default_factory=list)

    @property
    def is_empty(self) -> bool:
        return not self.children and not any(self.stretches)


@dataclass(slots=True)
class Listing:
    """Items in the order they are written, and what of their text reaches beyond it."""

    items: list[Item]
    open_brackets: int
    has_outer_cue: bool  # outside brackets somebody else than the ingredient list speaks
    first_stop: int  # place after the first full stop outside brackets; 0 if there is none


class _Builder:
    def __init__(self, voice: Voice) -> None:
        self.items: list[Item] = []
        self.sentence = 0
        self.parents: list[Item] = []
        self.base: list[Voice] = [voice]  # the voice to return to at a full stop, by depth
        self.voices: list[Voice] = [voice]
        self.heading: Item | None = None
        self.kept: set[Item] = set()
        self.outer_cue = False
        self.first_stop = 0
        self.item = self._item()

    def _item(self) -> Item:
        parent = self.parents[-1] if self.parents else None
        heading = self.heading if parent is None else None
        under = parent or heading
        if under is None:
            return Item(self.voices[-1], parent, heading, self.sentence)
        return Item(self.voices[-1], parent, heading, self.sentence, is_oil(under), is_class(under))

    def close_item(self) -> None:
        """End the item in hand and begin the next."""
        if not self.item.is_empty:
            self._keep(self.item)
        self.item = self._item()

    def _keep(self, item: Item) -> None:
        if item in self.kept:  # it was kept when its first bracket opened
            return
        self.kept.add(item)
        self.items.append(item)
        if item.parent is not None:
            item.parent.children.append(item)
        elif item.heading is not None:
            item.heading.headed.append(item)

    def cue(self, cue: Cue) -> None:
        self.close_item()
        self.voices[-1] = cue.voice
        self.outer_cue |= not self.parents and (cue.backward or cue.voice is not Voice.INGREDIENT)
        if cue.voice is Voice.INGREDIENT:
            self.heading = None
        self.item = self._item()
        self.item.backward = cue.backward

    def stop(self, end: int) -> None:
        self.close_item()
        if not self.parents:
            self.first_stop = self.first_stop or end
        self.sentence += 1
        self.voices[-1] = self.base[-1]
        if not self.parents:
            self.heading = None
        self.item = self._item()

    def colon(self) -> None:
        heading = self.item
        self.close_item()
        if not self.parents and not heading.is_empty:
            self.heading = heading
            heading.is_heading = True
            self.item = self._item()

    def open(self) -> None:
        parent = self.item
        self._keep(parent)
        self.parents.append(parent)
        self.base.append(self.voices[-1])
        self.voices.append(self.voices[-1])
        self.item = self._item()

    def close(self) -> None:
        if not self.parents:
            self.item.stretches.append([])
            return
        self.close_item()
        self.item = self.parents.pop()
        self.item.stretches.append([])
        self.base.pop()
        self.voices.pop()


def is_oil(under: Item) -> bool:
    """Whether what hangs under this item is an oil or fat: "vegetable oil (one or more of: soybean, palm)"."""
    words = under.stretches[-1]
    if words and words[-1].word in _OILS:
        return True
    return under.in_oil and len(words) <= len(_ONE_OF) and all(token.word in _ONE_OF for token in words)


def is_class(under: Item) -> bool:
    """Whether what hangs under this item are additives of a class: "colours (120, 150d)"."""
    words = under.stretches[-1]
    return bool(words) and words[-1].word in _CLASSES


def is_additive_class(word: str) -> bool:
    """Whether a class of additives ends in this word."""
    return word in _CLASSES


def build(tokens: Sequence[Token], cues: Sequence[Cue], voice: Voice) -> Listing:
    """Build the list; any sequence of brackets, crossed or missing, gives one."""
    builder = _Builder(voice)
    waiting = list(reversed(cues))
    for token in tokens:
        while waiting and waiting[-1].start <= token.start:
            builder.cue(waiting.pop())
        if token.mark in (Mark.WORD, Mark.NUMBER):
            builder.item.stretches[-1].append(token)
        elif token.mark is Mark.COMMA:
            builder.close_item()
        elif token.mark is Mark.STOP:
            builder.stop(token.end)
        elif token.mark is Mark.COLON:
            builder.colon()
        elif token.mark is Mark.OPEN:
            builder.open()
        else:
            builder.close()
    left = len(builder.parents)
    builder.close_item()
    return Listing(builder.items, left, builder.outer_cue, builder.first_stop)
