"""How a stretch of an ingredient list may be joined to what stands around it without changing what either says."""

from __future__ import annotations

import re

from menus.labels.cues import Voice
from menus.labels.listing import is_class, is_oil
from menus.labels.parsing import Parsed
from menus.labels.phrases import ReadItem
from menus.labels.voices import is_heard_beyond

_DENIAL_AHEAD = re.compile(r"(?:\A|[.!?]\s*)no\b")
"""A sentence that begins with "no" may deny a whole list: "no milk, egg or soy ingredients"."""


def stands_alone(parsed: Parsed) -> bool:
    """Whether it says the same among its neighbours as by itself, and so do they.

    Brackets closed, nobody but the ingredient list speaking outside them, no heading that matters.
    """
    if not parsed.tokens or parsed.listing.open_brackets or parsed.listing.has_outer_cue:
        return False
    return not _DENIAL_AHEAD.search(parsed.page.folded.text) and not any(
        read.item.parent is None and _reaches_out(read) for read in parsed.items
    )


def _reaches_out(read: ReadItem) -> bool:
    if read.voice is not Voice.INGREDIENT or is_heard_beyond(read):
        return True
    return read.item.is_heading and (is_class(read.item) or not (read.is_mere_grammar or _is_settled(read)))


def _is_settled(heading: ReadItem) -> bool:
    """Whether the first item under it has already told all that matters: no later one can make the heading say less."""
    return heading.is_opened and not (heading.names_plainly or is_oil(heading.item))
