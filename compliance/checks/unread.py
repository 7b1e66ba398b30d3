"""What the standing check of a dish has not read: restrictions and withdrawals since, and children who came since."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from compliance.checks.children import type_on
from compliance.checks.explain import type_of
from compliance.checks.reads import Reads
from compliance.checks.reasons import Reason
from compliance.checks.served import Served
from compliance.checks.stays import Stays
from compliance.rules.values import Outcome
from menus.labels.evidence import ANY
from roster.models import Allowance, AllowanceWithdrawal, Restriction

NOT_READ = Reason(
    rule="",
    title="Not checked yet",
    outcome=Outcome.REFER,
    sentence="Since the last check of this dish the restriction or the child came, or an allowance was withdrawn: "
    "it has not been judged for that yet.",
    kind="not-checked",
    substance=ANY,
    chain=(),
    span=None,
    term="",
    source="",
    verified="",
    allowed=False,
)


def unread_restrictions(
    served: Iterable[Served], reads: Reads, stays: Stays, now: datetime
) -> Iterator[tuple[Served, Restriction]]:
    """Yield the dishes of today and later, each with the restrictions that hold on its day and its run has not read.

    Of the children with these stays, whose reads are given; whether the child is there on that day is for the caller to
    see. One query, none when nothing is to come; one more where something is unread.
    """
    ahead = _ahead(served, now)
    if not ahead:
        return
    known = {run: {read.restriction_id for read in found} for run, found in reads.by_run.items()}
    held = _held(stays, min(each.serving.date for each in ahead), max(each.serving.date for each in ahead), now)
    runs = {(each.serving.site_id, each.run.reads_of) for each in ahead}
    missing = {(site, run): held.get(site, set()) - known.get(run, set()) for site, run in runs}
    wanted = set().union(*missing.values())
    unread = Restriction.objects.select_related("child").in_bulk(wanted) if wanted else {}
    for each in ahead:
        for pk in missing[each.serving.site_id, each.run.reads_of]:
            if type_on(unread[pk], (), each.serving.date):
                yield each, unread[pk]


def withdrawn_since(served: Iterable[Served], reads: Reads, now: datetime) -> Iterator[tuple[int, int]]:
    """Yield the ids of dishes of today and later, each with a restriction of which less is allowed than its run read.

    No query where nothing is allowed; one, and one more where something was withdrawn.
    """
    if not any(kind.allowed for kind in reads.types.values()):
        return
    relaxed = [(each, read) for each in _ahead(served, now) for read in reads.of(each) if read.type.allowed]
    children = {read.child_id for _, read in relaxed}
    ended = AllowanceWithdrawal.objects.filter(allowance__restriction__child__in=children, recorded_at__lte=now)
    concerned = set(ended.values_list("allowance__restriction__child", flat=True)) if children else set()
    held: dict[int, list[Allowance]] = {}
    if concerned:
        standing = Allowance.objects.known(now).filter(restriction__child__in=concerned)
        for allowance in standing.select_related("restriction"):
            held.setdefault(allowance.restriction.chain, []).append(allowance)
    for each, read in relaxed:
        if read.child_id in concerned:
            kind = type_on(read.restriction, held.get(read.restriction.chain, ()), each.serving.date)
            if kind and not set(type_of(read.type).allowed) <= set(kind.allowed):
                yield each.serving.pk, read.restriction_id


def _ahead(served: Iterable[Served], now: datetime) -> list[Served]:
    return [each for each in served if each.serving.date >= now.astimezone(each.serving.site.zone).date()]


def _held(stays: Stays, first: date, last: date, now: datetime) -> dict[int, set[int]]:
    """Return by site the ids of the restrictions that hold on some day between the two. One query."""
    rows = Restriction.objects.in_force(first, last, now).filter(child__in=stays).order_by()
    held: dict[int, set[int]] = {}
    for pk, child in rows.values_list("pk", "child"):
        for site in {stay.classroom.site_id for stay in stays[child]}:
            held.setdefault(site, set()).add(pk)
    return held
