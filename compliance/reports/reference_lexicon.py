"""The reference page of the lexicon: how much of it there is, on what ground, and the words it knows by substance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from menus.labels.lexicon import SILENT, Entry, Lexicon, Meaning
from menus.substances.catalogue import Catalogue

INTRODUCTION = """# Lexicon

What the words of a label mean. Each row of the data files in `menus/labels/data` gives one phrase one meaning, with
the places and days it holds for, its source, and whether that source was read or is from memory. Plural and spelling
variants are made from a phrase, not listed. The longest phrase wins: a look-alike (coconut milk) is a row that hides
the shorter one. How a label is read with it can be seen with `manage.py show_label`.
"""

MEANINGS = {
    Meaning.NAMED: "the substance's own name",
    Meaning.DERIVED: "made from it, and still carries it",
    Meaning.USUAL: "a food usually made with it; its brackets speak instead where it has any",
    Meaning.GROUP: "names the group, leaves the member open",
    Meaning.MAY_DERIVE: "may be made from it; drops out where the law would make the label say so",
    Meaning.EXEMPT: "may be made from it, and the law here lets the label keep silent",
    Meaning.REFINED_OIL: "an oil the law does not count when it is highly refined",
    Meaning.CLAIM: "says that the food is free of it",
    Meaning.NONE: "a food or additive that names no substance of the catalogue",
    Meaning.FILLER: "grammar, process, function: names no ingredient",
}


def lexicon_page() -> str:
    """Return the page."""
    rows = [entry for term in Lexicon.load() for entry in term.entries]
    return "\n".join([INTRODUCTION, *_counts(rows), *_terms(rows)])


def _counts(rows: list[Entry]) -> Iterator[str]:
    counts = Counter((entry.meaning, entry.verified) for entry in rows)
    yield f"## {len(rows):,} rows by meaning\n"
    yield "| Meaning | What it says | Rows | Source read | From memory |"
    yield "| --- | --- | --- | --- | --- |"
    for meaning, says in MEANINGS.items():
        read, memory = counts[meaning, "read"], counts[meaning, "memory"]
        yield f"| `{meaning}` | {says} | {read + memory:,} | {read:,} | {memory:,} |"


def _terms(rows: list[Entry]) -> Iterator[str]:
    yield "\n## Words by substance\n"
    yield "Only phrases that put the substance into the food, or may. An asterisk marks a source that was read.\n"
    by_code: dict[str, dict[Meaning, dict[str, bool]]] = {}
    for entry in rows:
        if entry.meaning not in SILENT:
            for code in entry.substances:
                words = by_code.setdefault(code, {}).setdefault(entry.meaning, {})
                words[entry.phrase] = words.get(entry.phrase, False) or entry.verified == "read"
    for substance in Catalogue.load():
        if told := by_code.get(substance.code):
            yield f"### {substance.name} (`{substance.code}`)\n"
            yield from (f"- {meaning}: {_listed(told[meaning])}" for meaning in MEANINGS if meaning in told)
            yield ""


def _listed(words: dict[str, bool]) -> str:
    return ", ".join(f"{word}\\*" if words[word] else word for word in sorted(words))
