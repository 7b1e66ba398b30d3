"""How fast labels are read, beside a plain regular expression of the same words, and how that grows with length."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from time import process_time

from menus.labels.context import context_of
from menus.labels.cutting import passages
from menus.labels.evidence import Part
from menus.labels.label import LabelText
from menus.labels.lexicon import Lexicon
from menus.labels.reader import read
from menus.labels.stretch import forget
from menus.labels.text import fold
from menus.substances.catalogue import Catalogue

INGREDIENTS = 40
_LETTERS = "abdeghiklmnoprstuw"


@dataclass(frozen=True, slots=True)
class Speed:
    """So many texts in so many seconds of this processor."""

    name: str
    texts: int
    seconds: float

    @property
    def rate(self) -> float:
        """Texts a second."""
        return self.texts / self.seconds


@dataclass(frozen=True, slots=True)
class Growth:
    """Seconds for texts of one making, each ten times as long as the one before."""

    name: str
    seconds: tuple[float, ...]


def made_labels(lexicon: Lexicon, count: int) -> list[str]:
    """Lists of forty ingredients dealt from the lexicon (claims are none), in capitals; the same on every run."""
    deal = random.Random(40)
    phrases = [term.phrase for term in lexicon if not (term.is_filler or term.is_claim)]
    return [", ".join(deal.choices(phrases, k=INGREDIENTS)).upper() for _ in range(count)]


def reading_speeds(texts: Sequence[str]) -> Iterator[Speed]:
    """The first half at first sight; then the second half, whose ingredients are mostly known; then that again."""
    half = len(texts) // 2
    _codes(texts[0])  # loads the lexicon
    forget()
    yield _timed("at first sight", texts[:half], _codes)
    yield _timed("lists not seen before, reader warm", texts[half:], _codes)
    yield _timed("ingredients all seen before", texts[half:], _codes)
    yield _timed("the same, with every span", texts[half:], lambda text: read(LabelText(text)).evidence)


def alternation_speed(lexicon: Lexicon, texts: Sequence[str]) -> Speed:
    """The same words as one compiled alternation, longest first, looked for in the folded text."""
    phrases = sorted((" ".join(term.words) for term in lexicon), key=len, reverse=True)
    pattern = re.compile(rf"\b(?:{'|'.join(map(re.escape, phrases))})\b")
    return _timed("regular expression", texts, lambda text: pattern.findall(fold(text).text))


def growths(sizes: Iterable[int]) -> Iterator[Growth]:
    """Hostile texts of these lengths, read below the door that refuses a label over 20,000 characters."""
    lengths = tuple(sizes)
    for name, make in _HOSTILE.items():
        yield Growth(name, tuple(_seconds(make(length)) for length in lengths))


def _repeated(piece: str) -> Callable[[int], str]:
    return lambda length: (piece * length)[:length]


def _near_misses(length: int) -> str:
    slips = random.Random(7)
    names = ("almonds", "peanuts", "hazelnuts", "crustaceans", "buttermilk", "mayonnaise")
    words: list[str] = []
    while sum(map(len, words)) < length:
        name = slips.choice(names)
        place = slips.randrange(len(name))
        words.append(f"{name[:place]}{slips.choice(_LETTERS)}{name[place + 1 :]}, ")
    return "".join(words)[:length]


_HOSTILE: dict[str, Callable[[int], str]] = {
    "open brackets": _repeated("("),
    "crossed brackets": _repeated("([{)]} "),
    "nested lists": _repeated("milk ("),
    "commas": _repeated(", "),
    "near misses": _near_misses,
    "precautions": _repeated("may contain milk. "),
}


def _seconds(text: str) -> float:
    forget()
    context = context_of(LabelText(""), Lexicon.load(), Catalogue.load())
    begun = process_time()
    passages(context, Part.INGREDIENTS, text)
    return process_time() - begun


def _codes(text: str) -> object:
    return read(LabelText(text)).kinds()


def _timed(name: str, texts: Sequence[str], act: Callable[[str], object]) -> Speed:
    begun = process_time()
    for text in texts:
        act(text)
    return Speed(name, len(texts), process_time() - begun)
