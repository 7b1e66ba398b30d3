"""The demo's labels are read whole, except where they are wrong on purpose."""

from __future__ import annotations

from collections import Counter

import pytest

from compliance.demo.files import Row, rows
from menus.gtin import parse_gtin
from menus.labels.evidence import Kind, Level
from menus.labels.label import LabelText
from menus.labels.reader import Reading, read

NO_LABEL, STALE, UNKNOWN_WORD = "BK-117", "BK-113", "DG-161"


def _row(code: str) -> Row:
    return next(row for row in rows("products.csv") if row["code"] == code)


def _read(row: Row) -> Reading:
    return read(
        LabelText(
            row["ingredients"],
            row["contains"],
            row["precautionary"],
            row["claims"],
            jurisdiction="us",
            regulator=row["regulator"],
        )
    )


def _found(code: str, *levels: Level) -> set[str]:
    return {piece.substance for piece in _read(_row(code)).evidence if piece.level in levels}


@pytest.mark.parametrize("row", rows("products.csv"), ids=lambda row: row["code"])
def test_label_is_read_whole(row: Row) -> None:
    """No word of a demo label is unknown, but for the one that is there to be unknown."""
    if row["code"] == NO_LABEL:
        assert not any(row[part] for part in ("ingredients", "contains", "precautionary", "claims", "seen_days_ago"))
        return
    unread = [span.words for span in _read(row).unread]
    assert unread == (["selvorin"] if row["code"] == UNKNOWN_WORD else [])


def test_one_label_is_out_of_date() -> None:
    """One label was read more than a year ago, the others within eight months."""
    old = [row["code"] for row in rows("products.csv") if int(row["seen_days_ago"] or 0) > 240]
    assert old == [STALE]


def test_declared_allergens_are_found_in_the_ingredients() -> None:
    """Each “contains” line of the demo is borne out by the ingredient list above it, as on an honest label."""
    for row in rows("products.csv"):
        pieces = _read(row).evidence
        declared = {piece.substance for piece in pieces if piece.kind is Kind.DECLARED}
        listed = {piece.substance for piece in pieces if piece.kind in (Kind.NAMED, Kind.DERIVED)}
        assert {code.split(".")[0] for code in declared} <= {code.split(".")[0] for code in listed}, row["code"]


@pytest.mark.parametrize(
    ("code", "substance"),
    [
        ("DY-114", "milk"),
        ("BK-102", "sesame"),
        ("DG-127", "fish.anchovy"),
        ("FZ-102", "soy"),
        ("DG-135", "lard"),
        ("DG-150", "alcohol"),
        ("DG-157", "mustard"),
        ("DG-148", "gelatin"),
        ("MT-111", "beef"),
    ],
)
def test_hidden_source_is_found(code: str, substance: str) -> None:
    """What the name of a product hides, its label says."""
    assert substance in _found(code, Level.PRESENT)


@pytest.mark.parametrize(
    ("code", "substance"),
    [("DG-119", "peanut"), ("DG-125", "soy"), ("BK-113", "sesame"), ("DG-138", "peanut"), ("DG-146", "tree-nut")],
)
def test_what_is_not_present_is_not_called_present(code: str, substance: str) -> None:
    """Refined oil, sunflower spread “without peanuts” and coconut milk do not become the allergen they remind of."""
    assert substance not in _found(code, Level.PRESENT)


def test_gtins_are_valid_and_nobodys() -> None:
    """Every GTIN passes its check digit, begins with the prefix for examples, and stands once."""
    gtins = [parse_gtin(row["gtin"]) for row in rows("products.csv") if row["gtin"]]
    assert all(gtin.startswith("0952") for gtin in gtins)
    assert len(gtins) == len(set(gtins)) >= 70


def test_fresh_produce_has_no_gtin() -> None:
    """Produce comes loose, without bars; all else but the shop's bread has some."""
    bare = Counter(row["code"][:2] for row in rows("products.csv") if not row["gtin"])
    assert set(bare) == {"PR"}
