"""Restrictions that the standing check of a dish has not read: recorded since, or of a child who came since."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import F

from compliance.checks.children import type_on
from compliance.checks.reasons import Reason
from compliance.models import RunRestriction, ServedDish
from compliance.rules.values import Outcome
from menus.labels.evidence import ANY
from roster.models import Restriction

NOT_READ = Reason(
    rule="",
    title="Not checked yet",
    outcome=Outcome.REFER,
    sentence="The restriction, or the child, came after the last check of this dish, which has not been judged for it.",
    words="",
    kind="not-checked",
    substance=ANY,
    chain=(),
    span=None,
    term="",
    source="",
    verified="",
    allowed=False,
)


def unread_restrictions(served: list[ServedDish], now: datetime) -> Iterator[tuple[ServedDish, Restriction]]:
    """Yield the dishes of today and later, each with the restrictions that hold on its day and its run has not read.

    Whether the child is there on that day is for the caller to see. Two queries, none when nothing is to come.
    """
    ahead = [each for each in served if each.serving.date >= now.astimezone(each.serving.site.zone).date()]
    if not ahead:
        return
    days = [each.serving.date for each in ahead]
    sites = {each.serving.site_id for each in ahead}
    held = Restriction.objects.in_force(min(days), max(days), now).select_related("child")
    there = held.annotate(at_site=F("child__enrolments__classroom__site")).filter(at_site__in=sites).distinct()
    restrictions: dict[int, list[Restriction]] = {}
    for held_there in there:
        restrictions.setdefault(held_there.at_site, []).append(held_there)
    reads = RunRestriction.objects.filter(run__in={each.dish.run_id for each in ahead})
    read = set(reads.values_list("run", "restriction"))
    for each in ahead:
        for restriction in restrictions.get(each.serving.site_id, []):
            if (each.dish.run_id, restriction.pk) not in read and type_on(restriction, (), each.serving.date):
                yield each, restriction
