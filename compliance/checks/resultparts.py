"""The result of a site's run after some of its dishes have changed, worked out from that of the run that stood."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from compliance.checks.bulk.codes import Codes, outcomes
from compliance.checks.bulk.sums import Sums, added, dish_line, serving_line
from compliance.checks.repointed import Moved, Repointed
from compliance.rules.values import Outcome


def sums_after(base: Sums, moved: Sequence[Moved], found: Repointed, columns: list[int]) -> Sums:
    """Return the fingerprint in parts. `columns`: the types held at the site, in the order of their keys."""
    served = added(
        serving_line(each.serving, found.keys_now[each.row]) - serving_line(each.serving, found.keys[each.stood or 0])
        for each in moved
    )
    gone, come = _dishes(moved, found)
    said = added(
        [
            *(dish_line(found.keys_now[row], found.table.codes[row][columns]) for row in come),
            *(-dish_line(found.keys[stood], found.codes_before[stood][columns]) for stood in gone),
        ]
    )
    return base.with_dishes(served, said)


def counts_after(base: dict[str, Any], moved: Sequence[Moved], found: Repointed, columns: list[int]) -> dict[str, Any]:
    """Return how much the run looked at, and how many verdicts stand at each outcome."""
    gone, come = _dishes(moved, found)
    change = sum((_counted(found.table.codes[row][columns]) for row in come), np.zeros(len(Outcome), dtype=np.int64))
    change = change - sum(_counted(found.codes_before[stood][columns]) for stood in gone)
    names = ("servings", "dishes", "types", "children")
    verdicts = {outcome.code: base["verdicts"][outcome.code] + int(change[outcome]) for outcome in Outcome}
    return {name: base[name] for name in names} | {"verdicts": verdicts, "referrals": 0}


def _counted(codes: Codes) -> Any:
    return np.bincount(outcomes(codes[codes > 0]), minlength=len(Outcome))


def _dishes(moved: Sequence[Moved], found: Repointed) -> tuple[set[int], set[int]]:
    """The ids of the dishes that the site serves no more, and the rows of those that it did not serve before."""
    stood = {found.keys[each.stood or 0]: each.stood or 0 for each in moved}
    serves = {found.keys_now[each.row]: each.row for each in moved}
    gone = {pk for key, pk in stood.items() if key not in serves}
    return gone, {row for key, row in serves.items() if key not in stood}
