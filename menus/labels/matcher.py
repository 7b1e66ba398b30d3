"""Longest known phrase first, along a trie of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from menus.labels.lexicon import Lexicon, Term
from menus.labels.tokens import Token


class _Node:
    """A step along the trie: the term that ends here, and where each next word leads."""

    __slots__ = ("following", "term")

    def __init__(self) -> None:
        self.following: dict[str, _Node] = {}
        self.term: Term | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """A known phrase in place: tokens[first:last] of the stretch it was found in."""

    term: Term
    first: int
    last: int


class Matcher:
    """Finds the terms of one lexicon in stretches of tokens."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self._root = _Node()
        for words, term in lexicon.terms.items():
            node = self._root
            for word in words:
                node = node.following.setdefault(word, _Node())
            node.term = term

    def longest(self, tokens: Sequence[Token], first: int) -> Match | None:
        """The longest term that starts at this token."""
        node, best = self._root, None
        for index in range(first, len(tokens)):
            following = node.following.get(tokens[index].word)
            if following is None:
                break
            node = following
            if node.term is not None:
                best = Match(node.term, first, index + 1)
        return best

    def term(self, *words: str) -> Term | None:
        """The term spelled by exactly these words."""
        return self.lexicon.terms.get(words)

    def find(self, tokens: Sequence[Token]) -> tuple[list[Match], list[int]]:
        """Matches from left to right, and the places of the words that no term covers."""
        matches: list[Match] = []
        unknown: list[int] = []
        index = 0
        while index < len(tokens):
            match = self.longest(tokens, index)
            if match is None:
                unknown.append(index)
                index += 1
            else:
                matches.append(match)
                index = match.last
        return matches, unknown


@lru_cache(maxsize=4)
def matcher_of(lexicon: Lexicon) -> Matcher:
    """One trie per lexicon."""
    return Matcher(lexicon)
