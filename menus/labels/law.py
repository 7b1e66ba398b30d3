"""What the law makes a label name, by place, regulator and day."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from menus.substances.catalogue import Catalogue

UNBOUND_REGULATORS = frozenset({"fsis", "none"})
"""FSIS meat, poultry and egg products stand outside FALCPA; home-made food has no label law at all."""

_LATEST = date.max


@lru_cache(maxsize=256)
def forced_names(catalogue: Catalogue, jurisdiction: str, regulator: str, on: date | None) -> frozenset[str]:
    """Codes that the label must name in words when the food holds them, members included.

    An undated label is read under the newest law we hold: it is the label somebody has in hand.
    """
    if regulator in UNBOUND_REGULATORS:
        return frozenset()
    groups = catalogue.groups(jurisdiction, on or _LATEST)
    listed = {code for group in groups for code in group.substances}
    members = {member for code in listed for member in catalogue.descendants(code)}
    headings = {
        group.code for group in groups
    }  # "may be made from nuts" is forced into words where the nuts are listed
    return frozenset(listed | members | headings)


@lru_cache(maxsize=256)
def declared_by_duty(catalogue: Catalogue, jurisdiction: str, regulator: str, on: date | None) -> frozenset[str]:
    """Codes that a "contains" declaration may not leave out where there is one, members included.

    What need only be named above an amount (sulphites) is no part of it: the label does not say how much there is.
    """
    if regulator in UNBOUND_REGULATORS:
        return frozenset()
    groups = catalogue.groups(jurisdiction, on or _LATEST)
    listed = {code for group in groups if not group.threshold for code in group.substances}
    return frozenset(listed | {member for code in listed for member in catalogue.descendants(code)})
