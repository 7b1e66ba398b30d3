"""Published and common wordings of declarations, precautions and claims, each with three allergens put in."""

from __future__ import annotations

import pytest

from menus.labels.evidence import Kind
from menus.labels.label import LabelText
from menus.labels.reader import read
from tests.external.published import published

PHRASES = published("precautionary_phrases.csv")
NAMED = {"milk", "egg", "peanut"}
KINDS = {
    "may-contain": {Kind.MAY_CONTAIN},
    "shared-line": {Kind.SHARED_LINE},
    "shared-facility": {Kind.SHARED_FACILITY},
    # "contains traces of" is read as a precaution; sugar and salt cannot account for what is declared
    "contains": {Kind.DECLARED, Kind.NAMED, Kind.MAY_CONTAIN, Kind.DISAGREEMENT},
}


def says(template: str) -> dict[str, set[Kind]]:
    found: dict[str, set[Kind]] = {}
    text = f"Sugar, salt. {template.replace('{A}', 'milk, eggs and peanuts')}."
    for piece in read(LabelText(text)).evidence:
        found.setdefault(piece.substance, set()).add(piece.kind)
    return found


@pytest.mark.parametrize("row", [row for row in PHRASES if row["class"] in KINDS], ids=lambda row: row["template"])
def test_a_statement_is_read_whole_and_in_its_kind(row: dict[str, str]) -> None:
    """All three allergens are found, each said in the way the wording says it, and no word is left unread."""
    found = says(row["template"])
    assert {code for code in found if code in NAMED} == NAMED
    assert set().union(*(found[code] for code in NAMED)) <= KINDS[row["class"]]
    assert Kind.UNREAD_WORD not in found.get("*", set())


@pytest.mark.parametrize(
    "row", [row for row in PHRASES if row["class"] == "free-from"], ids=lambda row: row["template"]
)
def test_a_claim_is_no_alarm(row: dict[str, str]) -> None:
    """A claim of absence raises nothing by itself."""
    assert not NAMED & set(says(row["template"]))
