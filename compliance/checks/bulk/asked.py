"""Open referrals for what checks of many sites could not decide, and take back what they no longer ask."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from django.db.models import QuerySet
from django.utils import timezone

from compliance.checks.bulk.askedbefore import Before, Waiting, asked_before
from compliance.checks.bulk.rows import insert_new
from compliance.checks.bulk.table import Table
from compliance.checks.bulk.wanted import Asks, SiteWants, Wanted, Wants
from compliance.checks.bulk.wording import Wordings
from compliance.checks.questions import Key
from compliance.models import Referral, Run, RunRestriction
from roster.models import Restriction


def ask_for(
    table: Table, runs: Mapping[int, Run], only: QuerySet[RunRestriction] | None = None
) -> dict[int, list[Referral]]:
    """Open a referral for each child and question of the sites' `refer` verdicts that nobody has been asked yet.

    Returns those opened, by site; the caller puts them on record, and holds the transaction. What `referrals.ask` says
    of questions that are open or answered holds here too. `only`: restrictions of the children whom the table is about,
    where it is not about all of the sites: what was asked about others is left as it is. Seven queries where nothing
    is new, whatever the size.
    """
    chains, wanted = _chains(runs), Wanted(table)
    asking = _Asking(table, asked_before(runs, table.first, table.last, chains, only), chains)
    wants = {site: SiteWants(wanted, site) for site in runs}
    asked = {site: asking.by_chain(wants[site]) for site in runs}
    # First at all of them: what falls away at one may have to be asked at another where the same child is.
    for site, run in runs.items():
        asking.withdraw(run, asked[site])
    for site, run in runs.items():
        asking.ask(run, wants[site], asked[site])
    return asking.written()


@dataclass(frozen=True, slots=True)
class _New:
    """A question to be opened."""

    run: Run
    wants: SiteWants
    asks: list[Asks]  # all that the restriction comes down to, on one day or another
    subject: str
    about: frozenset[str]
    needed: int
    asked_by: int | None


@dataclass
class _Asking:
    """Compares what is asked now with what was asked before, site by site, and writes for all of them at once."""

    table: Table
    before: Before
    chains: dict[int, int]
    new: list[_New] = field(default_factory=list)
    gone: list[int] = field(default_factory=list)
    sooner: dict[int, list[int]] = field(default_factory=dict)  # ids by how many days after the first

    def by_chain(self, wants: SiteWants) -> dict[int, list[Asks]]:
        """Return what is asked at one site, by the restriction."""
        asked: dict[int, list[Asks]] = {}
        for asks in wants.asks():
            asked.setdefault(self.chains.get(asks.span.restriction, asks.span.restriction), []).append(asks)
        return asked

    def withdraw(self, run: Run, asked: Mapping[int, list[Asks]]) -> None:
        """Take back what earlier checks asked and this one does not, of the days that it has looked at."""
        if self.table.first > self.table.today(run.site):
            return
        days = (self.table.last - self.table.first).days
        for waits in self.before.by_check.get(run.site_id, ()):
            chain, subject = waits.key
            still = any(not waits.about.isdisjoint(asks.wants.get(subject, ())) for asks in asked.get(chain, ()))
            if waits.pk is not None and waits.needed <= days and not still:
                self.gone.append(waits.pk)
                if self.before.waiting.get(waits.key) == waits:
                    del self.before.waiting[waits.key]

    def ask(self, run: Run, wants: SiteWants, asked: Mapping[int, list[Asks]]) -> None:
        """Take in what is asked at one site."""
        for chain, several in asked.items():
            for subject, needed in _merged(several).items():
                if due := self._due((chain, subject), needed):
                    self._ask((chain, subject), due, run, wants, several)

    def _due(self, key: Key, needed: Mapping[str, int]) -> Mapping[str, int]:
        """Return the substances that are first needed after the answer about them has ended."""
        answered = self.before.answered.get(key)
        if answered is None:
            return needed
        return {each: day for each, day in needed.items() if each not in answered or day > answered[each]}

    def _ask(self, key: Key, due: Mapping[str, int], run: Run, wants: SiteWants, asks: list[Asks]) -> None:
        first, waits = min(due.values()), self.before.waiting.get(key)
        if waits and due.keys() <= waits.about:
            if first < waits.needed and waits.pk is not None:
                self.sooner.setdefault(first, []).append(waits.pk)
            return
        if waits and waits.pk is not None:
            self.gone.append(waits.pk)
        asked_by, about = waits.asked_by if waits else None, frozenset(due)
        self.new.append(_New(run, wants, asks, key[1], about, first, asked_by))
        self.before.waiting[key] = Waiting(None, key, about, first, asked_by)

    def written(self) -> dict[int, list[Referral]]:
        """Write all of it, and return what was opened, by site."""
        waiting = Referral.objects.filter(answered_at=None, withdrawn_at=None)  # one answered meanwhile is not
        waiting.filter(pk__in=self.gone).update(withdrawn_at=timezone.now())
        for days, pks in self.sooner.items():
            waiting.filter(pk__in=pks).update(needed_by=self.table.first + timedelta(days=days), needed_at=None)
        opened: dict[int, list[Referral]] = {site: [] for site in self.table.served}
        for referral in self._referrals():
            opened[referral.site_id].append(referral)
        rows = [each for found in opened.values() for each in found]
        # Somebody else may open the same at this moment; in one order, so that neither waits for the other in a ring.
        insert_new(sorted(rows, key=lambda each: (each.restriction_id, each.subject)))
        return opened

    def _referrals(self) -> Iterator[Referral]:
        wordings = Wordings(self.table)
        for new in self.new:
            span = new.asks[0].span
            yield Referral(
                **wordings.of(new.wants, new.asks, new.subject, new.about),
                child_id=span.child,
                site=new.run.site,
                restriction_id=span.restriction,
                needed_by=self.table.first + timedelta(days=new.needed),
                asked_by_id=new.asked_by,
            )


def _merged(several: list[Asks]) -> Wants:
    """Return when each subject is first needed, whatever the restriction comes down to on one day or another."""
    if len(several) == 1:
        return several[0].wants
    found: Wants = {}
    for asks in several:
        for subject, needed in asks.wants.items():
            substances = found.setdefault(subject, {})
            for substance, days in needed.items():
                substances[substance] = min(days, substances.get(substance, days))
    return found


def _chains(sites: Collection[int]) -> dict[int, int]:
    """Return the first version of each restriction that is not the first itself. One query."""
    there = Restriction.objects.filter(child__enrolments__classroom__site__in=sites, first__isnull=False)
    return {pk: first for pk, first in there.values_list("pk", "first") if first}
