"""The run that speaks for today at each of many sites."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from compliance.models import CheckedDay, Run
from menus.models import Site


def standing_runs(sites: Iterable[Site], now: datetime) -> dict[int, Run]:
    """Return the run that speaks for the site's own today, by site. One query.

    A site whose today was never checked has none. What it read beside the food is loaded when it is asked for.
    """
    today = {site.pk: now.astimezone(site.zone).date() for site in sites}
    days = (
        CheckedDay.objects.filter(site__in=today, day__in=set(today.values()))
        .select_related("run")
        .defer("run__inputs")
    )
    return {each.site_id: each.run for each in days if each.day == today[each.site_id]}
