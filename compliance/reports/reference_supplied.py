"""The reference page of suppliers' allergen codes, written from the tables by which they are read."""

from __future__ import annotations

from collections.abc import Iterable

from compliance.reports.markdown import table
from menus.labels.supplied.codes import NONE_DECLARED, AllergenCode, allergen_codes
from menus.labels.supplied.levels import Says, levels

INTRODUCTION = """# Suppliers' allergen codes

Structured product data name allergens by the codes of GS1, an open standard, each with a level of containment. They are
kept beside the words of the package, one a line: `AM CONTAINS (Milk)`, with the supplier's rules and the day behind it.
They add to what the package says. They never stand for its ingredient list, and “free from” clears nothing.

- Any case, the prefix `gs1:`, whole addresses and percent-encoding are read, and long codes as well as short ones.
- No row for an allergen means that nothing is known of it.
- Of two levels for one allergen the graver counts, and that they differ is a finding.
- A code that the catalogue cannot say exactly stands for the nearest wider substance, never for a narrower one; then
  “free from” is kept and denies nothing. A code that is not known, or that no restriction can name, counts as a word
  that was not understood, unless the product is said to be free of it.
- A row without a known level counts as not understood, for its own allergen alone.
- `Ingredients: …` and `Allergen statement: …` are the supplier's sentences, read as the words of a label are.
"""
MEANS = {
    Says.CONTAINS: "declared: present",
    Says.MAY_CONTAIN: "precaution: possible",
    Says.FREE: "a claim: shown, and it changes no outcome",
}


def supplied_page() -> str:
    """Return the page: how rows are read, the levels, the codes."""
    counted = [(level.code, level.name, MEANS[level.says], level.source, level.verified) for level in levels().values()]
    return "\n".join(
        [
            INTRODUCTION,
            "## Levels of containment\n",
            table(("Level", "Name", "Counts as", "Source", "Seen"), (_code_first(row) for row in counted)),
            "## Codes\n",
            "What the code *names* is denied by “free from”; what is *said with it* is not; what it *leaves open* is\n"
            "possible where the product contains it. The sources give codes and names. Which substance a code stands\n"
            "for is our judgement, held by a test against what the lexicon makes of the name.\n",
            table(
                ("Code", "Allergen", "Names", "Said with it", "Leaves open", "Note", "Source", "Seen"),
                (_code_first(_row(code)) for code in allergen_codes().values()),
            ),
        ]
    )


def _row(code: AllergenCode) -> tuple[str, ...]:
    note = code.note or ("not understood" if not code.concerns and code.code not in NONE_DECLARED else "")
    substances = map(_codes, (code.substances, code.also, code.left_open))
    return (code.code, code.name, *substances, note, code.source, code.verified)


def _codes(codes: Iterable[str]) -> str:
    return ", ".join(f"`{code}`" for code in codes)


def _code_first(row: tuple[str, ...]) -> tuple[str, ...]:
    return (f"`{row[0]}`", *row[1:])
