"""Words that change how what follows is meant: a declaration, a precaution, a denial, an aside."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class Voice(StrEnum):
    """In what sense a stretch of label names its substances."""

    INGREDIENT = "ingredient"
    DECLARED = "declared"
    MAY_CONTAIN = "may-contain"
    SHARED_LINE = "shared-line"
    SHARED_FACILITY = "shared-facility"
    FREE = "free"  # says that something is not in it
    ASIDE = "aside"  # makers, addresses, storage: names no ingredient


PRECAUTIONS = frozenset({Voice.MAY_CONTAIN, Voice.SHARED_LINE, Voice.SHARED_FACILITY})


@dataclass(frozen=True, slots=True)
class Cue:
    """A change of voice at a place in the folded text; a backward one speaks of the words before it."""

    start: int
    end: int
    voice: Voice
    backward: bool = False


_MAKE = (
    r"(?:made|manufactured|produced|processed|packed|packaged|prepared|baked|handled|stored|roasted|bottled|sliced|"
    r"assembled|crafted|created|run|filled|cooked|fried|blended|mixed)"
)
_MADE = rf"{_MAKE}(?:\s*(?:,|and|&|or|/|and/or)\s*{_MAKE}){{0,6}}"
_PLACE = (
    r"(?:facilit(?:y|ies)|plants?(?![\s-]+(?:based|protein|fib|sterol|extract))|factor(?:y|ies)|sites?|premises|kitchens?|"
    r"baker(?:y|ies)|buildings?|environments?|areas?|establishments?|warehouses?|locations?)"
)
_LINE = r"(?:equipment|machinery|machines?|lines?|fryers?|utensils)"
_NOTICE = r"(?:information|info|advice|warnings?|statement|declaration|alert|notice|contents?)"
_USED = rf"\b(?:is|are)\s+(?:also\s+)?(?:used|handled|present|{_MAKE})\s+(?:in|at|on)"
_BETWEEN = r"(?:[a-z']+[\s/-]+){0,5}?"

_PLACES = (
    "facilit", "plant", "factor", "site", "premises", "kitchen", "baker", "building", "environment", "area",
    "establishment", "warehouse", "location",
)  # fmt: skip
_LINES = ("equipment", "machine", "line", "fryer", "utensil")

_FORWARD: tuple[tuple[Voice, tuple[str, ...], str], ...] = (
    (
        Voice.FREE,
        ("not",),
        r"(?:does|do|did|should|will)\s+not\s+(?:contain|use|process|handle|include|produce|have)s?\b",
    ),
    (Voice.FREE, ("doesn", "don't", "dont"), r"(?:doesn|don)'?t\s+(?:contain|use|process|handle|include)s?\b"),
    (Voice.FREE, ("contain",), r"\bcontain(?:s|ing)?\s*:?\s*(?:no|neither|zero|none of)\b"),
    (Voice.FREE, ("no ", "no\n", "no\t", "no\r"), r"(?:\A|(?<=[.!?] ))no\s+[a-z][a-z ,-]{1,80}\bingredients\b"),
    (Voice.FREE, ("not",), r"\bnot\s+contain(?:ing)?\b"),
    (Voice.FREE, ("free",), r"\bfree\s+(?:from|of)\b"),
    (Voice.FREE, ("without",), r"\b(?:made|produced|prepared|baked)\s+without\b"),
    (Voice.SHARED_LINE, _LINES, rf"\b{_MADE}\s+(?:on|using|with|in)\s+{_BETWEEN}{_LINE}\b"),
    (
        Voice.SHARED_LINE,
        ("shared", "same", "common"),
        r"\b(?:shared|same|common)\s+(?:\w+\s+)?(?:equipment|machinery|machines?|lines?|fryers?)\b",
    ),
    (
        Voice.SHARED_LINE,
        ("equipment", "machinery", "line"),
        r"\b(?:equipment|machinery|lines?)\s+(?:that|which|used|also|shared|where)\b",
    ),
    (Voice.SHARED_LINE, ("equipment",), r"\bequipment\b[^.;,]{0,40}\balso\s+used\b"),
    (
        Voice.SHARED_LINE,
        ("fried", "cooked"),
        r"\b(?:fried|cooked)\s+in\s+(?:the\s+same\s+)?oil\s+(?:\w+\s+){0,3}?(?:used|shared)\b",
    ),
    (Voice.SHARED_FACILITY, _PLACES, rf"\b{_MADE}\s+(?:in|at|by|from)\s+{_BETWEEN}{_PLACE}\b"),
    (
        Voice.SHARED_FACILITY,
        _PLACES,
        rf"\b(?:in|from|our)\s+(?:an?\s+|the\s+same\s+|our\s+)?{_PLACE}\s+(?:that|which|where|also)\b",
    ),
    (Voice.SHARED_FACILITY, ("warehouse",), r"\bwarehouse\s+(?:also\s+)?(?:stores|handles|holds)\b"),
    (
        Voice.SHARED_FACILITY,
        ("shared", "same"),
        r"\b(?:shared|same)\s+(?:facilit(?:y|ies)|factory|plant|premises|kitchen|bakery)\b",
    ),
    (
        Voice.SHARED_FACILITY,
        _PLACES,
        r"\b(?:facility|factory|plant|bakery|kitchen|site)\s+(?:also\s+)?"
        r"(?:process|handl|us(?:es|ing)|produc|pack|stor|mak(?:es|ing))",
    ),
    (
        Voice.MAY_CONTAIN,
        ("may", "might", "could", "can", "possibly", "peut", "puede"),
        r"\b(?:may|might|could|can|possibly|peut|puede)\s+(?:\w+ly\s+|also\s+|sometimes\s+)?"
        r"(?:contain|contenir|contener)(?:s|ing)?\b",
    ),
    (Voice.MAY_CONTAIN, ("may",), r"\bmay\s+(?:\w+\s+)?(?:have\s+(?:come|been)|be\s+exposed|come\s+in)\b"),
    (
        Voice.MAY_CONTAIN,
        ("possible", "potential", "trace", "trazas"),
        r"\b(?:possible\s+|potential\s+|trace\s+amounts?\s+of|(?<!contains )traces?\s+of|trazas\s+de)",
    ),
    (Voice.MAY_CONTAIN, ("cross",), r"\bcross[\s-]*(?:contact|contamination)\s+(?:\w+\s+)?(?:with|from|by)\b"),
    (
        Voice.MAY_CONTAIN,
        ("suitable", "recommended", "advised"),
        r"\b(?:not\s+suitable|unsuitable|not\s+recommended|not\s+advised)\s+for\b",
    ),
    (Voice.MAY_CONTAIN, ("guarantee",), r"\b(?:cannot|can't|can\s+not|unable\s+to)\s+guarantee\b"),
    (Voice.DECLARED, ("allerg",), rf"\ballerg(?:en|y|ens|ies|enic)\s*{_NOTICE}?\s*:"),
    (Voice.DECLARED, ("allerg",), rf"\ballerg(?:en|y)\s+{_NOTICE}\b"),
    (
        Voice.INGREDIENT,
        ("ingredi", "zutaten"),
        r"\b(?:sole\s+|only\s+)?(?:ingredients?|ingredientes|ingredienti|zutaten)\s*(?:list)?\s*:",
    ),
    (
        Voice.ASIDE,
        ("distributed", "manufactured", "packed", "packaged", "imported", "produced", "prepared", "dist", "mfd", "mfg"),
        r"\b(?:distributed|manufactured|packed|packaged|imported|produced|prepared|dist\.?|mfd\.?|mfg\.?)\s+"
        r"(?:exclusively\s+)?(?:by|for)\b",
    ),
    (
        Voice.ASIDE,
        ("nutrition", "best", "use", "www.", "http", "net", "keep", "store", "refrigerate"),
        r"\b(?:nutrition\s+facts|nutrition(?:al)?\s+information|best\s+(?:before|by|if)|use\s+by|www\.|https?:|"
        r"net\s+w(?:eigh)?t|keep\s+(?:refrigerated|frozen|cool|in)|store\s+in|refrigerate\s+after)",
    ),
)
_BACKWARD: tuple[tuple[Voice, tuple[str, ...], str], ...] = (
    (Voice.SHARED_LINE, ("dairy",), r"(?<=dairy)\s+(?:equipment|line)\b"),
    (Voice.MAY_CONTAIN, ("may",), r"\bmay\s+(?:also\s+)?be\s+(?:present|found|used|contained)\b"),
    (Voice.SHARED_FACILITY, _PLACES, rf"{_USED}\s+{_BETWEEN}{_PLACE}"),
    (Voice.SHARED_LINE, _LINES, rf"{_USED}\s+{_BETWEEN}{_LINE}"),
    (Voice.MAY_CONTAIN, ("allerg",), r"\ballerg\w*\s+(?:sufferers\s+)?should\s+(?:avoid|not)\b"),
)
"""Voice, the letters that any such text holds (looked for first: most labels hold few), and the pattern."""

_COMPILED = [(voice, stems, re.compile(pattern), False) for voice, stems, pattern in _FORWARD] + [
    (voice, stems, re.compile(pattern), True) for voice, stems, pattern in _BACKWARD
]


def find_cues(text: str) -> list[Cue]:
    """Cues in order of place; where two begin together, the one written first in the tables wins."""
    found = [
        (match.start(), rank, Cue(match.start(), match.end(), voice, backward))
        for rank, (voice, stems, pattern, backward) in enumerate(_COMPILED)
        if any(stem in text for stem in stems)
        for match in pattern.finditer(text)
    ]
    found.sort(key=lambda entry: entry[:2])
    cues: list[Cue] = []
    for start, _, cue in found:
        if cues and start < cues[-1].end and not _denies(cue, cues[-1]):
            continue
        cues.append(cue)
    return cues


def _denies(cue: Cue, before: Cue) -> bool:
    """A denial inside a precaution ("a facility that does not handle nuts") still counts."""
    return cue.voice is Voice.FREE and before.voice is not Voice.FREE
