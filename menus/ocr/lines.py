"""Lines of text read from a picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

DOUBT = 0.85
"""Words with a letter read less surely than this are marked.

Measured on 45 drawn labels from legible to illegible: of the words with a wrong letter 87 % lie below it, of those read
rightly 5 %. Lost spaces and commas often lie above. So the mark says where to look first, never that the rest is right.
"""


@dataclass(frozen=True, slots=True)
class Word:
    """One word with the reader's confidence in its least sure letter, from 0 to 1."""

    text: str
    confidence: float

    @property
    def is_doubtful(self) -> bool:
        """Whether a person should look at it first."""
        return self.confidence < DOUBT


@dataclass(frozen=True, slots=True)
class Line:
    """One line as printed."""

    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        """The words with single spaces."""
        return " ".join(word.text for word in self.words)

    @property
    def is_doubtful(self) -> bool:
        """Whether a word of it is."""
        return any(word.is_doubtful for word in self.words)


def joined(lines: Iterable[Line]) -> str:
    """Return the lines as one text, a line each."""
    return "\n".join(line.text for line in lines)


def lines_json(lines: Iterable[Line]) -> list[list[list[object]]]:
    """Return the lines as they are stored: a list of lines, each a list of [word, confidence]."""
    return [[[word.text, word.confidence] for word in line.words] for line in lines]


def lines_from_json(stored: list[list[list[object]]]) -> tuple[Line, ...]:
    """Return what `lines_json` stored."""
    return tuple(Line(tuple(Word(str(text), float(str(sure))) for text, sure in line)) for line in stored)
