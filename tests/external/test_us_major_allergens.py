"""The nine major allergens of US law (FALCPA 2004, FASTER Act 2021) against our groups and our reading."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from menus.labels.jsonl import answer
from menus.labels.label import LabelText
from menus.substances.catalogue import Catalogue
from tests.external.published import published

NINE = published("us_major_allergens.csv")


def named_by_law(day: date) -> set[str]:
    return {group.code for group in Catalogue.load().groups("us", day)}


def test_nine_and_the_sulphite_rule() -> None:
    """The US list today is the nine, beside the additive rule for sulphites (21 CFR 101.100)."""
    assert named_by_law(date(2026, 1, 1)) == {row["code"] for row in NINE} | {"sulphite"}


@pytest.mark.parametrize("row", NINE, ids=lambda row: row["allergen"])
def test_each_is_named_from_its_day(row: dict[str, str]) -> None:
    """Each allergen is on the list from the day its act says, and not the day before."""
    first = date.fromisoformat(row["from"])
    assert row["code"] in named_by_law(first)
    assert row["code"] not in named_by_law(first - timedelta(days=1))


@pytest.mark.parametrize("row", NINE, ids=lambda row: row["allergen"])
def test_each_is_read_in_a_declaration_under_its_legal_name(row: dict[str, str]) -> None:
    """ "Contains: Soybeans" is soy present, declared."""
    says = answer(LabelText(f"water, salt. Contains: {row['allergen']}."))
    assert row["code"] in says["present"]
    assert says["kinds"][row["code"]] == ["declared"]
