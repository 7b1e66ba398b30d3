"""One spelling for a word: singular, American, without its apostrophe. Label and lexicon both pass through here."""

from __future__ import annotations

from functools import lru_cache

_ROOTS = (("sulph", "sulf"), ("flavour", "flavor"), ("colour", "color"), ("fibre", "fiber"))
_ENDINGS = (
    ("isation", "ization"),
    ("lysed", "lyzed"),
    ("lysate", "lyzate"),
    ("ising", "izing"),
    ("ised", "ized"),
    ("lour", "lor"),
    ("lours", "lors"),
)
_STAYS = frozenset(
    {
        "bass",
        "gas",
        "molasses",
        "swiss",
        "asparagus",
        "couscous",
        "hummus",
        "houmous",
        "citrus",
        "less",
        "watercress",
        "cress",
        "grass",
        "hibiscus",
        "cactus",
        "lens",
        "is",
        "as",
        "this",
        "us",
        "octopus",
        "lotus",
        "plus",
        "glass",
        "press",
        "process",
        "proces",
        "bus",
        "various",
        "mass",
        "isinglass",
        "sans",
    }
)


@lru_cache(maxsize=65536)
def canonical(word: str) -> str:
    """The spelling under which a folded word is looked up."""
    word = word.replace("'s", "").replace("'", "")
    for british, american in _ROOTS:
        word = word.replace(british, american)
    for british, american in _ENDINGS:
        if word.endswith(british):
            word = word[: -len(british)] + american
    return _singular(word)


def _singular(word: str) -> str:
    if len(word) < 4 or word in _STAYS or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ie"):
        return word[:-2] + "y" if len(word) > 4 else word
    if not word.endswith("s"):
        return word
    if word.endswith("ies"):
        return word[:-3] + "y" if len(word) > 5 else word[:-1]
    if word.endswith(("sses", "xes", "ches", "shes", "oes")):
        return word[:-2]
    return word[:-1]
