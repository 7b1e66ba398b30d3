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
    r"(?:made|manufactured|ma?n[a-z]{1,3}fa[a-z]{2,7}ed|produced|proc{1,2}es{1,2}ed|packed|pack[ae]?ged|prepared|baked|"
    r"handled|stored|roasted|bottled|sliced|assembled|crafted|created|run|filled|cooked|fried|blended|mixed)"
)
_MADE = rf"{_MAKE}(?:\s*(?:,|and|&|or|/|and/or)\s*{_MAKE}){{0,6}}"
_PLACE = (
    r"(?:facilit(?:y|ies)|fac[il]{1,4}t(?:y|iy|es|ies)|plants?(?![\s-]+(?:based|protein|fib|sterol|extract))|factor(?:y|ies)|sites?|premises|kitchens?|"
    r"baker(?:y|ies)|buildings?|environments?|areas?|establishments?|warehouses?|locations?)"
)
_LINE = r"(?:equipment|equipt?e?ment|equp[a-z]{0,2}ment|machinery|machines?|lines?|fryers?|utensils)"
_CONTAIN = r"c(?:on|un|om|an)(?:t?(?:ai|ia|a|al|ei|i)|ati)n"
_NOTICE = r"(?:information|info|advice|warnings?|statement|declaration|alert|notice|contents?)"
_USED = rf"\b(?:is|are)\s+(?:also\s+)?(?:used|handled|present|{_MAKE})\s+(?:in|at|on)"
_AT_END = r"(?!\s+(?:that|which|where|also|with|handling|processing|using|containing|shared)\b)"
"""A statement that looks back ends there; "is made in a plant that handles…" looks ahead."""
_BETWEEN = r"(?:[a-z']+[\s/-]+){0,5}?"

_PLACES = (
    "facil", "faclit", "plant", "factor", "site", "premises", "kitchen", "baker", "building", "environment", "area",
    "establishment", "warehouse", "location",
)  # fmt: skip
_LINES = ("equip", "equp", "machine", "line", "fryer", "utensil")
_ABROAD = (
    "usine", "atelier", "etablissement", "boulangerie", "cuisine",
    "planta", "fabrica", "instalacion", "establecimiento",
)  # fmt: skip
_LINES_ABROAD = ("equipement", "ligne", "chaine", "equipo", "linea", "maquinaria")
_MADE_ABROAD = (
    r"(?:fabrique|produit|prepare|transforme|emballe|conditionne)e?s?\s+(?:dans|sur|en)|"
    r"(?:elaborad|fabricad|procesad|producid|empacad|envasad|preparad|hech)[oa]s?\s+en"
)
_ARTICLE = r"\s+(?:(?:de|des|du|les?|la|las|los|une?|una?|el|l'|d'|meme|misma|mismo|mismas|mismos)\s*){0,3}"

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
        ("share", "sharing", "same", "common"),
        rf"\b(?:shar(?:ed?|es|ing)|same|common)\s+(?:\w+\s+)?{_LINE}\b",
    ),
    (
        Voice.SHARED_LINE,
        _LINES_ABROAD,
        rf"\b(?:{_MADE_ABROAD}){_ARTICLE}(?:equipements?|lignes?|chaines?|equipos?|lineas?|maquinaria)\b",
    ),
    (
        Voice.SHARED_FACILITY,
        _ABROAD,
        rf"\b(?:{_MADE_ABROAD}){_ARTICLE}"
        r"(?:usines?|ateliers?|etablissements?|boulangeries?|cuisines?|plantas?|fabricas?|instalacion(?:es)?|establecimientos?)\b",
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
        ("share", "sharing", "same"),
        r"\b(?:shar(?:ed?|es|ing)|same)\s+(?:a\s+)?(?:facilit(?:y|ies)|factory|plant|premises|kitchen|bakery)\b",
    ),
    (
        Voice.SHARED_FACILITY,
        _PLACES,
        r"\b(?:facility|factory|plant|bakery|kitchen|site)\s+(?:also\s+)?"
        r"(?:process|handl|us(?:es|ing)|produc|pack|stor|mak(?:es|ing))",
    ),
    (
        Voice.SHARED_FACILITY,
        ("company",),
        r"\bcompany\s+(?:that|which)\s+(?:also\s+)?(?:process|handl|us(?:es|ing)|produc|pack|stor|mak(?:es|ing))",
    ),
    (
        Voice.MAY_CONTAIN,
        ("may", "might", "could", "can", "possibly", "peut", "puede", "pourrait", "podria", "puo", "pode"),
        r"\b(?:may|might|could|can|possibly|peut|puede|pourrait|podria|puo|pode)\s+"
        r"(?:\w+ly\s+|also\s+|sometimes\s+|aussi\s+|tambien\s+)?"
        rf"(?:{_CONTAIN}|contenir|contener|contenere|conter)(?:s|ing)?\b",
    ),
    (Voice.MAY_CONTAIN, ("maycontain",), r"\bmaycontain"),
    (Voice.MAY_CONTAIN, ("allergic",), r"\ballergic\s+to\b"),
    (
        Voice.MAY_CONTAIN,
        ("spuren", "eventuelle", "presence"),
        r"\b(?:kann\s+)?spuren\s+von\b|\b(?:presence|traces)\s+(?:possible|eventuelle)s?\s+d[eu']",
    ),
    (Voice.MAY_CONTAIN, ("may",), r"\bmay\s+(?:\w+\s+)?(?:have\s+(?:come|been)|be\s+exposed|come\s+in)\b"),
    (
        Voice.MAY_CONTAIN,
        ("possible", "potential", "trace", "trazas"),
        r"\b(?:possible\s+|potential\s+|trace\s+amounts?\s+of|(?<!contains )traces?\s+of|trazas\s+de|traces\s+d[e'])",
    ),
    (Voice.MAY_CONTAIN, ("cross",), r"\bcross[\s-]*(?:contact|contamination)\s+(?:\w+\s+)?(?:with|from|by)\b"),
    (
        Voice.MAY_CONTAIN,
        ("suitable", "recommended", "advised"),
        r"\b(?:not\s+suitable|unsuitable|not\s+recommended|not\s+advised)\s+for\b",
    ),
    (
        Voice.MAY_CONTAIN,
        ("guarantee",),
        r"\b(?:cannot|can't|can\s+not|not|unable\s+to)\s+(?:be\s+)?guaranteed?\b(?:[^.;:,]{0,60}?\bfree\s+(?:of|from)\b)?",
    ),
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
    (Voice.SHARED_FACILITY, _PLACES, rf"{_USED}\s+{_BETWEEN}{_PLACE}\b{_AT_END}"),
    (Voice.SHARED_LINE, _LINES, rf"{_USED}\s+{_BETWEEN}{_LINE}\b{_AT_END}"),
    (Voice.MAY_CONTAIN, ("allerg",), r"\ballerg\w*\s+(?:sufferers\s+)?should\s+(?:avoid|not)\b"),
)
"""Voice, the letters that any such text holds (looked for first: most labels hold few), and the pattern."""

_STEMS = tuple(dict.fromkeys(stem for _, stems, _ in _FORWARD + _BACKWARD for stem in stems))
_COMPILED = [(voice, stems, re.compile(pattern), False) for voice, stems, pattern in _FORWARD] + [
    (voice, stems, re.compile(pattern), True) for voice, stems, pattern in _BACKWARD
]


def find_cues(text: str) -> list[Cue]:
    """Cues in order of place; where two begin together, the one written first in the tables wins."""
    there = {stem for stem in _STEMS if stem in text}
    if not there:
        return []
    found = [
        (match.start(), rank, Cue(match.start(), match.end(), voice, backward))
        for rank, (voice, stems, pattern, backward) in enumerate(_COMPILED)
        if not there.isdisjoint(stems)
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
    """A denial that reaches out of a precaution counts; "we cannot guarantee that it is free from" holds its own."""
    return cue.voice is Voice.FREE and before.voice is not Voice.FREE and cue.end > before.end
