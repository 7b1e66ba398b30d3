"""The table of cleaning methods against Perry et al. 2004, who looked for peanut protein after cleaning.

The study let its people wash hands and tables that peanut butter had been on, and counted on how many some was left.
"""

from __future__ import annotations

import pytest

from menus.kitchen.cleaning import methods, removes
from tests.external.published import published

RESULTS = published("perry_2004.csv")


@pytest.mark.parametrize("result", RESULTS, ids=[f"{each['what']}, {each['cleaned_with']}" for each in RESULTS])
def test_a_method_counts_where_nothing_was_left(result: dict[str, str]) -> None:
    """What left some on any hand or table removes nothing for us; what left none does."""
    assert removes(result["method"], result["material"]) == (result["left_on"] == "0")


def test_oil_and_heat_and_porous_ware() -> None:
    """Codex CXC 80-2020 and FARE 2020: heat ends nothing. A review (s13223-015-0069-x): wood and laminate stay.

    Oil by common practice, no source: nothing but fresh oil in a washed vat; filtering takes out crumbs.
    """
    materials = ("non_porous", "porous", "hands", "fryer_oil", "unwashable")
    assert not any(removes("cook_heat", material) for material in materials)
    assert not any(removes(method, "porous") or removes(method, "unwashable") for method in methods())
    assert [method for method in methods() if removes(method, "fryer_oil")] == ["oil_change_and_vat_wash"]
