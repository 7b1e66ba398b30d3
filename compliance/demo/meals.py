"""Which meal pattern the meals of the demo's sites follow."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from compliance.demo.files import rows
from menus.models import Site
from menus.services.patterns import set_pattern
from roster.models import User


def load_meals(sites: Mapping[str, Site], *, today: date, recorded_by: User) -> None:
    """Write the patterns, from a year back on."""
    for row in rows("patterns.csv"):
        set_pattern(
            site=sites[row["site"]],
            meal=row["meal"],
            program=row["program"],
            group=row["group"],
            starts_on=date(today.year - 1, today.month, 1),
            recorded_by=recorded_by,
        )
