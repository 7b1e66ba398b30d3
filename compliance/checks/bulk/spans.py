"""What the children of many sites may not have between two days, in numbers.

Most restrictions hold on all of the days, and so do their allowances: such a one is read as numbers, and its type made
once for all that are alike. Where something begins, ends or keeps to set days, `compliance.checks.children` cuts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import QuerySet

from compliance.checks.children import periods
from compliance.rules.values import RestrictionType, Scope, Strictness
from menus.labels.evidence import Kind
from menus.models import Site
from roster.kinds.days import SetDays
from roster.models import Allowance, Child, Enrolment, Restriction


class Span(NamedTuple):
    """What one restriction comes down to between two days, both included."""

    restriction: int
    child: int
    type: RestrictionType
    first: date
    last: date


def spans(sites: Sequence[Site], first: date, last: date, at: datetime) -> dict[int, list[Span]]:
    """Return what the children enrolled at each site may not have, by the site's id. Five queries."""
    enrolled = Enrolment.objects.during(first, last).filter(classroom__site__in=sites)
    children = Child.objects.filter(pk__in=enrolled.values("child"))
    found = list(_spans(children, first, last, at))
    at_site: dict[int, set[int]] = {}
    restricted = enrolled.filter(child__in=Restriction.objects.in_force(first, last, at).values("child"))
    for child, site in restricted.values_list("child", "classroom__site"):
        at_site.setdefault(child, set()).add(site)
    by_site: dict[int, list[Span]] = {site.pk: [] for site in sites}
    for span in found:
        for site in at_site.get(span.child, ()):  # none: the child left between the two readings
            by_site[site].append(span)
    return by_site


def _spans(children: QuerySet[Child], first: date, last: date, at: datetime) -> Iterable[Span]:
    scopes, cut = _scopes(children, first, last, at)
    rows = Restriction.objects.in_force(first, last, at).filter(child__in=children).order_by("pk")
    columns = ("pk", "first", "child", "substance", "strictness", "starts_on", "ends_on", "days")
    types: dict[tuple[str, str, tuple[Scope, ...]], RestrictionType] = {}
    for pk, chain, child, substance, strictness, begins, ends, days in rows.values_list(*columns):
        whole = (begins is None or begins <= first) and (ends is None or ends >= last) and days == SetDays.EVERY
        if not whole or (chain or pk) in cut:
            cut.add(chain or pk)
            continue
        key = (substance, strictness, tuple(sorted(scopes.get(chain or pk, ()))))
        if key not in types:
            types[key] = RestrictionType(substance, Strictness(strictness), key[2])
        yield Span(pk, child, types[key], first, last)
    if cut:
        yield from _cut(children, cut, first, last, at)


def _cut(children: QuerySet[Child], chains: set[int], first: date, last: date, at: datetime) -> Iterable[Span]:
    of_these = Restriction.objects.filter(pk__in=chains).values("child")
    for period in periods(children.filter(pk__in=of_these), first, last, at):
        if period.restriction.chain in chains:
            yield Span(period.restriction.pk, period.restriction.child_id, period.type, period.first, period.last)


def _scopes(children: QuerySet[Child], first: date, last: date, at: datetime) -> tuple[dict[int, set[Scope]], set[int]]:
    """Return what is allowed on all of the days, by the chain of the restriction, and the chains of what is on some."""
    signed = Allowance.objects.known(at).filter(
        restriction__child__in=children, ends_on__gte=first, starts_on__lte=last
    )
    columns = ("restriction", "restriction__first", "kind", "about", "label", "term", "starts_on", "ends_on")
    scopes: dict[int, set[Scope]] = {}
    cut: set[int] = set()
    for pk, chain, kind, about, label, term, begins, ends in signed.values_list(*columns):
        if begins > first or ends < last:
            cut.add(chain or pk)
        scopes.setdefault(chain or pk, set()).add(Scope(Kind(kind), about, str(label or ""), term))
    return scopes, cut
