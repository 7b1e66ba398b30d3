"""Whether a label's text stops in mid-air."""

from __future__ import annotations

from collections.abc import Sequence

from menus.labels.text import FoldedText
from menus.labels.tokens import Mark, Token

_HANGING = frozenset({"and", "or", "of", "with", "from", "contain"})


def stops_in_mid_air(tokens: Sequence[Token], open_brackets: int, folded: FoldedText) -> bool:
    """After a comma, a colon, an open bracket or "and"; inside brackets without a full stop; at an ellipsis."""
    if not tokens:
        return False
    last = tokens[-1]
    if last.mark in (Mark.COMMA, Mark.COLON, Mark.OPEN):
        return folded.text[last.start] != ";"
    if last.mark is Mark.STOP:
        return folded.text.startswith("..", last.start)
    if last.mark is Mark.WORD and last.word in _HANGING:
        return True
    return open_brackets > 0 and last.mark in (Mark.WORD, Mark.NUMBER)
