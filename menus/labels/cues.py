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

_FORWARD: tuple[tuple[Voice, str], ...] = (
    (Voice.FREE, r"(?:does|do|did|should|will)\s+not\s+(?:contain|use|process|handle|include|produce|have)s?\b"),
    (Voice.FREE, r"(?:doesn|don)'?t\s+(?:contain|use|process|handle|include)s?\b"),
    (Voice.FREE, r"\bcontain(?:s|ing)?\s*:?\s*(?:no|neither|zero|none of)\b"),
    (Voice.FREE, r"(?:\A|(?<=\. ))no\s+[a-z][a-z ,-]{1,80}\bingredients\b"),
    (Voice.FREE, r"\bnot\s+contain(?:ing)?\b"),
    (Voice.FREE, r"\bfree\s+(?:from|of)\b"),
    (Voice.FREE, r"\b(?:made|produced|prepared|baked)\s+without\b"),
    (Voice.SHARED_LINE, rf"\b{_MADE}\s+(?:on|using|with|in)\s+{_BETWEEN}{_LINE}\b"),
    (Voice.SHARED_LINE, r"\b(?:shared|same|common)\s+(?:\w+\s+)?(?:equipment|machinery|machines?|lines?|fryers?)\b"),
    (Voice.SHARED_LINE, r"\b(?:equipment|machinery|lines?)\s+(?:that|which|used|also|shared|where)\b"),
    (Voice.SHARED_LINE, r"\bequipment\b[^.;,]{0,40}\balso\s+used\b"),
    (Voice.SHARED_LINE, r"\b(?:fried|cooked)\s+in\s+(?:the\s+same\s+)?oil\s+(?:\w+\s+){0,3}?(?:used|shared)\b"),
    (Voice.SHARED_FACILITY, rf"\b{_MADE}\s+(?:in|at|by|from)\s+{_BETWEEN}{_PLACE}\b"),
    (
        Voice.SHARED_FACILITY,
        rf"\b(?:in|from|our)\s+(?:an?\s+|the\s+same\s+|our\s+)?{_PLACE}\s+(?:that|which|where|also)\b",
    ),
    (Voice.SHARED_FACILITY, r"\bwarehouse\s+(?:also\s+)?(?:stores|handles|holds)\b"),
    (Voice.SHARED_FACILITY, r"\b(?:shared|same)\s+(?:facilit(?:y|ies)|factory|plant|premises|kitchen|bakery)\b"),
    (
        Voice.SHARED_FACILITY,
        r"\b(?:facility|factory|plant|bakery|kitchen|site)\s+(?:also\s+)?"
        r"(?:process|handl|us(?:es|ing)|produc|pack|stor|mak(?:es|ing))",
    ),
    (
        Voice.MAY_CONTAIN,
        r"\b(?:may|might|could|can|possibly|peut|puede)\s+(?:\w+ly\s+|also\s+|sometimes\s+)?"
        r"(?:contain|contenir|contener)(?:s|ing)?\b",
    ),
    (Voice.MAY_CONTAIN, r"\bmay\s+(?:\w+\s+)?(?:have\s+(?:come|been)|be\s+exposed|come\s+in)\b"),
    (Voice.MAY_CONTAIN, r"\b(?:possible\s+|potential\s+|trace\s+amounts?\s+of|(?<!contains )traces?\s+of|trazas\s+de)"),
    (Voice.MAY_CONTAIN, r"\bcross[\s-]*(?:contact|contamination)\s+(?:\w+\s+)?(?:with|from|by)\b"),
    (Voice.MAY_CONTAIN, r"\b(?:not\s+suitable|unsuitable|not\s+recommended|not\s+advised)\s+for\b"),
    (Voice.MAY_CONTAIN, r"\b(?:cannot|can't|can\s+not|unable\s+to)\s+guarantee\b"),
    (Voice.DECLARED, rf"\ballerg(?:en|y|ens|ies|enic)\s*{_NOTICE}?\s*:"),
    (Voice.DECLARED, rf"\ballerg(?:en|y)\s+{_NOTICE}\b"),
    (Voice.INGREDIENT, r"\b(?:ingredients?|ingredientes|ingredienti|zutaten)\s*(?:list)?\s*:"),
    (
        Voice.ASIDE,
        r"\b(?:distributed|manufactured|packed|packaged|imported|produced|prepared|dist\.?|mfd\.?|mfg\.?)\s+"
        r"(?:exclusively\s+)?(?:by|for)\b",
    ),
    (
        Voice.ASIDE,
        r"\b(?:nutrition\s+facts|nutrition(?:al)?\s+information|best\s+(?:before|by|if)|use\s+by|www\.|https?:|"
        r"net\s+w(?:eigh)?t|keep\s+(?:refrigerated|frozen|cool|in)|store\s+in|refrigerate\s+after)",
    ),
)
_BACKWARD: tuple[tuple[Voice, str], ...] = (
    (Voice.SHARED_LINE, r"(?<=dairy)\s+(?:equipment|line)\b"),
    (Voice.MAY_CONTAIN, r"\bmay\s+(?:also\s+)?be\s+(?:present|found|used|contained)\b"),
    (Voice.SHARED_FACILITY, rf"{_USED}\s+{_BETWEEN}{_PLACE}"),
    (Voice.SHARED_LINE, rf"{_USED}\s+{_BETWEEN}{_LINE}"),
    (Voice.MAY_CONTAIN, r"\ballerg\w*\s+(?:sufferers\s+)?should\s+(?:avoid|not)\b"),
)
_COMPILED = [(voice, re.compile(pattern), False) for voice, pattern in _FORWARD] + [
    (voice, re.compile(pattern), True) for voice, pattern in _BACKWARD
]
_HINT = re.compile(
    r"contain|contener|contenir|free|made|manufactur|produc|process|pack|prepar|handl|facilit|equip|trace|traz|allerg|"
    r"ingredi|zutaten|distrib|nutrition|best|keep|store|suitable|guarantee|cross|same|shared|may |www|http|not |"
    r"without|mfd|dist\.|import|refrigerate|use by|net w|recommended|plant|fried|baked|line|cooked|roasted|possibl|"
    r"potential|kitchen|baker|factor|premises|warehouse|dairy"
)
"""A label without any of these stems holds no cue; most do not, and one scan is cheaper than thirty."""


def find_cues(text: str) -> list[Cue]:
    """Cues in order of place; where two begin together, the one written first in the tables wins."""
    if not _HINT.search(text):
        return []
    found = [
        (match.start(), rank, Cue(match.start(), match.end(), voice, backward))
        for rank, (voice, pattern, backward) in enumerate(_COMPILED)
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
