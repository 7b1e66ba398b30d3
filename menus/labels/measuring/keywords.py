"""What a careful person's keyword search finds: the measure that the reader has to beat."""

from __future__ import annotations

import re

_KEYWORDS = {
    "milk": "milk|butter|cheese|cream|whey|casein|caseinate|lactose|yogurt|ghee|curd",
    "egg": "egg|eggs|albumin|albumen|mayonnaise|meringue",
    "fish": "fish|cod|salmon|tuna|anchovy|anchovies|tilapia|pollock|haddock|sardine|sardines|trout|halibut|"
    "worcestershire",
    "crustacean": "shrimp|prawn|prawns|crab|lobster|crayfish|crawfish|krill",
    "tree-nut": "almond|almonds|walnut|walnuts|pecan|pecans|cashew|cashews|hazelnut|hazelnuts|pistachio|pistachios|"
    "macadamia|nuts",
    "wheat": "wheat|flour|semolina|durum|spelt|gluten|bread|pasta",
    "peanut": "peanut|peanuts",
    "soy": "soy|soya|soybean|soybeans|tofu|edamame|lecithin",
    "sesame": "sesame|tahini",
}
"""The group's names and the best-known things made from it; common practice, no source."""

_PATTERNS = {code: re.compile(rf"\b(?:{words})\b", re.IGNORECASE) for code, words in _KEYWORDS.items()}


def keyword_search(text: str) -> frozenset[str]:
    """The US nine whose keywords stand in the text."""
    return frozenset(code for code, pattern in _PATTERNS.items() if pattern.search(text))
