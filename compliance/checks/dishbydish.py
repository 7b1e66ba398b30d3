"""Check sites of one window and panel by the dishes that changed, and store it as a check of the whole would."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime

from django.db.models import Count, OuterRef, Subquery
from django.utils import timezone

from compliance.checks.askedagain import ask_again
from compliance.checks.bulk.rows import update, upsert
from compliance.checks.bulk.stood import stood
from compliance.checks.bulk.sums import Sums
from compliance.checks.bulk.tell import tell
from compliance.checks.claims import claim
from compliance.checks.foodstands import Versions
from compliance.checks.news import News
from compliance.checks.repointed import Recipes, Repointed
from compliance.checks.resultparts import counts_after, sums_after
from compliance.checks.slices import Checked, entry_of
from compliance.models import CheckedDay, Panel, Referral, Run, RunRestriction, ServedDish
from menus.models import Site
from roster.record.write import record_all

Runs = Mapping[int, Run]
"""The run that stands at each site."""


@dataclass(frozen=True, slots=True)
class Group:
    """Sites whose runs are of the same days and panel."""

    sites: list[Site]
    runs: Runs
    panel: Panel
    first: date
    last: date
    now: datetime


@dataclass(slots=True)
class Together:
    """What was checked, and the sites that are left to be checked whole."""

    result: Checked
    left: list[Site] = field(default_factory=list)


def check_together(group: Group, recipes: Recipes, stands: Versions) -> Together:
    """Claim the sites, judge what changed, and store it. The caller holds the transaction: nobody sees half of it.

    Raises RecipeCycle when one of the recipes holds itself.
    """
    first, last = group.first, group.last
    claimed = claim(group.sites, Run.Trigger.CHANGE, group.now, first, last)
    done = Together(Checked(busy=claimed.busy))
    ours = {run.site_id: run for run in claimed.runs}
    found = Repointed.work_out([run.site for run in claimed.runs], recipes, group.panel, first, last, group.now)
    columns = _columns(ours, group, found)
    unlike = [ours.pop(pk) for pk in _unlike(ours, group, found)]
    done.left += [run.site for run in unlike]
    Run.objects.filter(pk__in=[run.pk for run in unlike]).delete()
    if not ours:
        return done
    found.keep(ours)
    kinds, servings = found.news(), [each.serving for each in found.moved]
    before = stood([run.site for run in ours.values()], first, last, only=servings, kinds=kinds) if kinds else None
    _stand(ours, found)
    _complete(ours, group, found, columns, stands)
    asked = _ask(ours, group, found)
    news = tell(before, found.table, ours) if before else {site: News() for site in ours}
    for site, run in ours.items():
        run.counts |= {"referrals": len(asked[site]), "digest": asdict(news[site])}
    update(Run, WRITTEN, ([getattr(run, name) for name in WRITTEN] for run in ours.values()))
    _read_the_same(ours, group)
    record_all(entry_of(run, asked[run.site_id]) for run in ours.values())
    done.result.runs, done.result.news = list(ours.values()), news
    return done


WRITTEN = (
    *("id", "state", "finished_at", "food_id", "panel_id"),
    *("sums", "result_hash", "children_as_id", "counts"),
)


def _read_the_same(ours: Mapping[int, Run], group: Group) -> None:
    """Beside the food the runs have read what those before them read: copied where it lies, for it is long."""
    before = Run.objects.filter(pk__in=[group.runs[pk].pk for pk in ours], site=OuterRef("site"))
    Run.objects.filter(pk__in=[run.pk for run in ours.values()]).update(inputs=Subquery(before.values("inputs")[:1]))
    for run in ours.values():
        del run.inputs  # read again from the database by whoever asks


def _columns(ours: Mapping[int, Run], group: Group, found: Repointed) -> dict[int, list[int]]:
    """By site, the columns of the types that are held there, in the order of their keys."""
    under = {group.runs[pk].reads_of: pk for pk in ours}
    place = {pk: column for column, pk in enumerate(found.types)}
    held: dict[int, list[int]] = {pk: [] for pk in ours}
    rows = RunRestriction.objects.filter(run__in=under).order_by()
    for run, kind in rows.values_list("run", "type").distinct():
        held[under[run]].append(place[kind])
    keys = found.table.type_keys
    return {pk: sorted(columns, key=keys.__getitem__) for pk, columns in held.items()}


def _unlike(ours: Mapping[int, Run], group: Group, found: Repointed) -> set[int]:
    """The sites that cannot be checked like this after all: seen once nobody else can check them."""
    days = (group.last - group.first).days + 1
    spoken = CheckedDay.objects.filter(site__in=ours, day__range=(group.first, group.last)).order_by()
    counted = spoken.values("site", "run").annotate(count=Count("pk")).values_list("site", "run", "count")
    speaks = {site for site, run, count in counted if run == group.runs[site].pk and count == days}
    strange = {
        site for site, moved in found.at_site.items() if any(each.stood not in found.codes_before for each in moved)
    }
    return (set(ours) - speaks) | (set(ours) & strange)


def _ask(ours: Mapping[int, Run], group: Group, found: Repointed) -> dict[int, list[Referral]]:
    """Open and take back the questions of those for whom a dish leaves others than it did."""
    kinds = {found.types[column] for columns in found.asked_otherwise.values() for column in columns}
    reads_of = {site: group.runs[site].reads_of for site in ours}
    return ask_again(ours, reads_of, group.panel, kinds, found.table.larder)


def _stand(ours: Mapping[int, Run], found: Repointed) -> None:
    """Let the new dishes stand for their servings, and the runs for their days."""
    dishes = found.stored.dishes
    moved = [(each.serving, dishes[each.row]) for each in found.moved if dishes[each.row] != each.stood]
    upsert(ServedDish, ("serving", "dish"), moved, unique=("serving",))
    ours_there = Run.objects.filter(pk__in=[run.pk for run in ours.values()], site=OuterRef("site"))
    days = CheckedDay.objects.filter(site__in=ours, day__range=(found.table.first, found.table.last))
    days.update(run=Subquery(ours_there.values("pk")[:1]))


def _complete(
    ours: Mapping[int, Run],
    group: Group,
    found: Repointed,
    columns: Mapping[int, list[int]],
    stands: Versions,
) -> None:
    """Fill in what the runs read and found: all as the run that stood, but for the dishes that changed."""
    food, now = stands.stored(), timezone.now()
    for pk, run in ours.items():
        base = group.runs[pk]
        run.food, run.panel_id, run.children_as_id = food, base.panel_id, base.reads_of
        moved = found.at_site.get(pk, [])
        sums = sums_after(Sums.of(base.sums), moved, found, columns[pk])
        run.sums, run.result_hash = sums.plain, sums.hash
        run.counts = counts_after(base.counts, moved, found, columns[pk])
        run.state, run.finished_at = Run.State.COMPLETE, now
