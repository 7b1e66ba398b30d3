"""The FDA's tree-nut table of January 2025 against our groups and our reading of labels."""

from __future__ import annotations

from datetime import date

import pytest

from menus.labels.jsonl import answer
from menus.labels.label import LabelText
from menus.substances.catalogue import Catalogue
from tests.external.published import published

NUTS = published("us_tree_nuts.csv")
LISTED = [row for row in NUTS if row["listed_from_2025"] == "yes"]
OFF_THE_LIST = [row for row in NUTS if row["listed_from_2025"] == "no"]


def on_the_list(day: date) -> set[str]:
    (group,) = [group for group in Catalogue.load().groups("us", day) if group.code == "tree-nut"]
    return set(group.substances)


def test_the_list_is_the_table() -> None:
    """From 6 January 2025 the list is the table's twelve, no more and no fewer."""
    assert on_the_list(date(2025, 1, 6)) == {row["code"] for row in LISTED}
    assert len(LISTED) == 12


def test_the_old_list_held_the_nuts_taken_off() -> None:
    """A label of 5 January 2025 is still read under the list of its day."""
    assert {row["code"] for row in NUTS} <= on_the_list(date(2025, 1, 5))


@pytest.mark.parametrize("row", LISTED, ids=lambda row: row["nut"])
def test_a_listed_nut_is_a_tree_nut(row: dict[str, str]) -> None:
    """A child who may not have tree nuts may not have any of the twelve, under any of the table's names."""
    assert "tree-nut" in Catalogue.load().ancestors(row["code"])
    for name in row["nut"].partition(" (")[0].split("/"):
        says = answer(LabelText(f"sugar, {name.lower()}s, salt"))
        assert row["code"] in says["present"]
        assert "tree-nut" in says["present"]


@pytest.mark.parametrize("row", OFF_THE_LIST, ids=lambda row: row["nut"])
def test_a_nut_off_the_list_is_itself_only(row: dict[str, str]) -> None:
    """A nut off the list is found for a child who avoids it, and raises no tree-nut alarm."""
    assert "tree-nut" not in Catalogue.load().ancestors(row["code"])
    for name in row["nut"].partition(" (")[0].split("/"):
        says = answer(LabelText(f"sugar, {name.lower()}, salt"))
        if row["code"] != "kola-nut" or " " in name:  # "cola" alone is a drink
            assert row["code"] in says["present"]
        assert not {code for code in says["present"] + says["possible"] if code.startswith("tree-nut")}
