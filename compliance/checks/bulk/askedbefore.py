"""What licensed staff were asked before about the children of many sites, and what they answered."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from django.db.models import QuerySet, TextField
from django.db.models.functions import Cast

from compliance.checks.questions import Key
from compliance.models import Referral, RunRestriction
from compliance.models.referral import ReferralQuerySet
from roster.models import Enrolment


class Waiting(NamedTuple):
    """A question that waits for its answer. One asked a moment ago, and not stored yet, has no id."""

    pk: int | None
    key: Key
    about: frozenset[str]
    needed: int  # how many days after the window's first; negative when it was needed before
    asked_by: int | None


@dataclass(slots=True)
class Before:
    """What was asked before."""

    waiting: dict[Key, Waiting] = field(default_factory=dict)
    answered: dict[Key, dict[str, int]] = field(default_factory=dict)  # the last day of the newest answer, by substance
    by_check: dict[int, list[Waiting]] = field(default_factory=dict)  # what earlier checks asked, by site


def asked_before(
    sites: Collection[int], first: date, last: date, chains: Mapping[int, int], only: QuerySet[RunRestriction] | None
) -> Before:
    """Return what was asked at these sites, and elsewhere about children who attend them on one of the days.

    `chains`: the first version of each restriction that is not the first itself; `only`: restrictions of the children
    who are looked at, where not all are. Three queries, or five.
    """
    before, texts = Before(), dict[str, frozenset[str]]()
    moved = _moved(sites, first, last)
    asked = [Referral.objects.filter(site__in=sites)]
    if moved:
        asked.append(Referral.objects.exclude(site__in=sites).filter(restriction__child__in=moved))
    if only is not None:
        asked = [each.filter(restriction__child__in=only.order_by().values("child")) for each in asked]
    for referrals in asked:
        _read_waiting(before, referrals, first, chains, texts)
    for referrals in asked:
        _read_answers(before, referrals, first, chains)
    return before


def _moved(sites: Collection[int], first: date, last: date) -> list[int]:
    """The children of whom something may have been asked elsewhere."""
    attending = Enrolment.objects.during(first, last).filter(classroom__site__in=sites)
    elsewhere = Enrolment.objects.exclude(classroom__site__in=sites).filter(child__in=attending.values("child"))
    return list(elsewhere.values_list("child", flat=True).distinct())


def _read_waiting(
    before: Before,
    referrals: ReferralQuerySet,
    first: date,
    chains: Mapping[int, int],
    texts: dict[str, frozenset[str]],
) -> None:
    # As text: reading JSON and sorting take longer than all the rest, and most say the same few words.
    rows = referrals.filter(answered_at=None, withdrawn_at=None).annotate(said=Cast("about", TextField())).order_by()
    columns = ("pk", "site", "restriction", "subject", "said", "needed_by", "asked_by", "substance")
    needed: dict[date, int] = {}
    for pk, site, restriction, subject, said, needed_by, asked_by, substance in rows.values_list(*columns):
        if said not in texts:
            texts[said] = frozenset(json.loads(said))
        if needed_by not in needed:
            needed[needed_by] = (needed_by - first).days
        key = (chains.get(restriction, restriction), subject)
        waits = Waiting(pk, key, texts[said], needed[needed_by], asked_by)
        held = before.waiting.get(key)
        if held is None or (held.pk or 0) < pk:  # of two about one restriction the newer is the one that is asked
            before.waiting[key] = waits
        if asked_by is None and substance:
            before.by_check.setdefault(site, []).append(waits)


def _read_answers(before: Before, referrals: ReferralQuerySet, first: date, chains: Mapping[int, int]) -> None:
    answers = referrals.standing().exclude(answer_ends_on=None).order_by("opened_at", "pk")
    columns = ("restriction", "subject", "about", "answer_ends_on")
    for restriction, subject, about, ends_on in answers.values_list(*columns):
        answered = before.answered.setdefault((chains.get(restriction, restriction), subject), {})
        for substance in about:
            answered[substance] = (ends_on - first).days
