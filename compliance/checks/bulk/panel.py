"""Which restriction types are judged together: as far as may be the same for all sites.

Dishes that many sites serve then have one row of verdicts for all of them, and a change of food is judged once.
"""

from __future__ import annotations

from compliance.checks.edition import edition
from compliance.checks.explain import type_of
from compliance.models import Panel, RestrictionTypeRow
from compliance.rules.values import RestrictionType

ROOM = 256
"""How many types a panel may have beyond twice those that are held (a starting value, no source)."""


def widened(types: list[RestrictionType]) -> list[RestrictionType]:
    """Return these types among those of the newest panel; alone where it holds too many that nobody here needs.

    What the panel lacks comes last, and makes a new panel that the next who need no more take as it is. Two queries.
    """
    newest = Panel.objects.filter(edition=edition()).order_by("-pk").first()
    if newest is None:
        return types
    rows = RestrictionTypeRow.objects.in_bulk(newest.types)
    together = list(dict.fromkeys([*(type_of(rows[pk]) for pk in newest.types), *types]))
    return together if len(together) <= 2 * len(types) + ROOM else types
