"""Annex II of Regulation (EU) No 1169/2011 against our groups, and the same list in the UK."""

from __future__ import annotations

from datetime import date

import pytest

from menus.labels.law import forced_names
from menus.substances.catalogue import Catalogue
from tests.external.published import published

POINTS = published("eu_annex_ii.csv")
TODAY = date(2026, 1, 1)


@pytest.mark.parametrize("jurisdiction", ["eu", "uk"])
def test_fourteen_groups(jurisdiction: str) -> None:
    """The groups are the Annex's fourteen points, no more and no fewer."""
    assert {group.code for group in Catalogue.load().groups(jurisdiction, TODAY)} == {row["code"] for row in POINTS}


@pytest.mark.parametrize("row", POINTS, ids=lambda row: row["name"])
def test_each_point_covers_what_it_names(row: dict[str, str]) -> None:
    """A label must name each substance of the point, and the point does not reach what the Annex leaves out."""
    forced = forced_names(Catalogue.load(), "eu", "", TODAY)
    assert set(row["substances"].split(";")) <= forced
    left_out = {code for code in row["not_listed"].split(";") if code}
    (group,) = [group for group in Catalogue.load().groups("eu", TODAY) if group.code == row["code"]]
    covered = set(group.substances).union(*(Catalogue.load().descendants(code) for code in group.substances))
    assert not left_out & covered


def test_a_nut_the_annex_leaves_out_need_not_be_named() -> None:
    """A pine nut is a tree nut in US law, and no Annex II nut."""
    assert "tree-nut.pine-nut" not in forced_names(Catalogue.load(), "eu", "", TODAY)
    assert "tree-nut.pine-nut" in forced_names(Catalogue.load(), "us", "", TODAY)


def test_sulphites_count_above_ten_milligrams() -> None:
    """Point 12 says more than 10 mg/kg, where US law says 10 or more."""
    eu, us = (
        next(group for group in Catalogue.load().groups(place, TODAY) if group.code == "sulphite")
        for place in ("eu", "us")
    )
    assert eu.threshold == ">10 mg/kg"
    assert us.threshold == ">=10 mg/kg"
