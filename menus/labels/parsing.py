"""A text cut, nested, matched and given its voices: all that is known of it before it speaks of substances."""

from __future__ import annotations

from dataclasses import dataclass

from menus.labels.brackets import open_brackets
from menus.labels.cues import Voice, find_cues
from menus.labels.evidence import Part
from menus.labels.listing import Listing, build
from menus.labels.matcher import Matcher
from menus.labels.page import Page
from menus.labels.phrases import ReadItem, read_item
from menus.labels.text import fold
from menus.labels.tokens import Token, tokenise
from menus.labels.voices import settle

_FIRST_VOICE = {
    Part.INGREDIENTS: Voice.INGREDIENT,
    Part.CONTAINS: Voice.DECLARED,
    Part.PRECAUTIONARY: Voice.MAY_CONTAIN,
    Part.CLAIMS: Voice.ASIDE,
    Part.SUPPLIED: Voice.DECLARED,  # its sentences: its rows of codes are no text to take apart
}


@dataclass(frozen=True, slots=True)
class Parsed:
    """One text as it was taken apart."""

    page: Page
    tokens: list[Token]
    listing: Listing
    items: list[ReadItem]


def parse(part: Part, text: str, matcher: Matcher) -> Parsed:
    """Take the text apart. Any text can be."""
    folded = fold(text)
    tokens = tokenise(folded)
    listing = build(tokens, find_cues(folded.text), _FIRST_VOICE[part])
    items = [read_item(item, matcher) for item in listing.items]
    settle(items)
    open_brackets(items)
    return Parsed(Page(part, folded), tokens, listing, items)
