"""Groups by jurisdiction and day."""

from __future__ import annotations

from datetime import date

import pytest

from menus.substances.catalogue import Catalogue
from menus.substances.groups import JURISDICTIONS, load_groups


@pytest.mark.parametrize("jurisdiction", JURISDICTIONS)
def test_every_jurisdiction_has_groups_today(jurisdiction: str) -> None:
    """No place is left without a list, and no list names a group twice on one day."""
    codes = [group.code for group in Catalogue.load().groups(jurisdiction, date(2026, 1, 1))]
    assert codes
    assert len(codes) == len(set(codes))


def test_groups_name_substances_of_the_catalogue() -> None:
    """Every group and every substance in it has a row; every row has its source and mark."""
    catalogue = Catalogue.load()
    for group in load_groups():
        assert group.jurisdiction in JURISDICTIONS
        assert group.code in catalogue
        assert all(code in catalogue for code in group.substances)
        assert group.source
        assert group.verified in {"read", "memory"}


def test_both_ends_of_a_period_belong_to_it() -> None:
    """The old US tree-nut list holds on its last day and not after."""
    old = next(group for group in load_groups() if group.effective_to is not None)
    assert old.effective_to is not None
    assert old.in_force(old.effective_from)
    assert old.in_force(old.effective_to)
    assert not old.in_force(date(2025, 1, 6))
