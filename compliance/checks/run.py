"""Check one site's coming days, and keep what was found together with what was read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from compliance.checks.children import Period, children_at, periods
from compliance.checks.codec import fingerprint, type_json
from compliance.checks.facts import Facts
from compliance.checks.load import load, reload
from compliance.checks.meals import with_meals
from compliance.checks.prepare import prepared
from compliance.checks.referrals import open_referrals
from compliance.checks.store import store
from compliance.checks.verdicts import DishKey, count_outcomes, dish_key, judge_all, result_hash
from compliance.models import Run
from compliance.rules.register import RULES
from compliance.rules.values import RestrictionType, Verdict
from menus.kitchen.recipes import Pieces
from menus.models import Serving, Site
from menus.services.servings import plan_servings
from roster.models import Verb
from roster.record.together import as_one

LEASE = timedelta(hours=1)
"""A run that has been running longer was cut off; the next one may begin."""

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""


class SiteBusy(Exception):
    """Somebody else is checking the site at this moment, or has just read more of it than this check would."""


@dataclass(frozen=True, slots=True)
class Result:
    """What a check found, before it is stored."""

    served: dict[Serving, DishKey]
    dishes: dict[DishKey, Pieces]
    periods: list[Period]
    verdicts: dict[tuple[DishKey, RestrictionType], Verdict]

    @property
    def hash(self) -> str:
        """Fingerprint of the whole result; the same facts give the same."""
        rows = [
            [p.restriction.pk, fingerprint(type_json(p.type)), p.first.isoformat(), p.last.isoformat()]
            for p in self.periods
        ]
        return result_hash({serving.pk: key for serving, key in self.served.items()}, self.verdicts, rows)


def check_site(
    *,
    site: Site,
    trigger: Run.Trigger | str,
    as_of: datetime | None = None,
    first_day: date | None = None,
    days: int | None = None,
    progress: Progress | None = None,
) -> Run:
    """Check the site's servings from `first_day` (default: today there) over `days` days, and return the run.

    Facts recorded after `as_of` (default: now) are not read. When the last run of the site read and found the same over
    the same days, the new run points to it and writes no verdicts. Raises SiteBusy when another check of the site is
    under way or has read later facts: what is older never takes the place of what is newer. Any other failure is kept
    in the run as `failed` and raised again.
    """
    as_of = as_of or timezone.now()
    first = first_day or as_of.astimezone(site.zone).date()
    last = first + timedelta(days=(days or settings.NIGHTLY_WINDOW_DAYS) - 1)
    run = _claim(site, Run.Trigger(trigger), as_of, first, last)
    try:
        return _carry_out(run, progress or _silent)
    except BaseException as error:  # somebody's Ctrl-C too, or the site would count as busy for an hour
        Run.objects.filter(pk=run.pk).update(
            state=Run.State.FAILED, finished_at=timezone.now(), error=f"{type(error).__name__}: {error}"
        )
        raise


def recompute(run: Run) -> str:
    """Work the run out again from the versions it read, and return the fingerprint of the result."""
    run = run.same_as or run
    facts = reload(run.site, run.inputs, run.as_of)
    return _evaluate(facts, run, _silent).hash


def _claim(site: Site, trigger: Run.Trigger, as_of: datetime, first: date, last: date) -> Run:
    now = timezone.now()
    Run.objects.filter(site=site, state=Run.State.RUNNING, started_at__lt=now - LEASE).update(
        state=Run.State.FAILED, finished_at=now, error="The check was cut off before it came to its end."
    )
    try:
        with transaction.atomic():
            run = Run.objects.create(site=site, trigger=trigger, as_of=as_of, first_day=first, last_day=last)
            # Asked once the claim is ours: the check that held it before may have begun after our moment.
            if Run.objects.complete().filter(site=site, as_of__gt=as_of).exists():
                raise SiteBusy(f"{site} has been checked since; that check read later facts and stands. Check it now.")
            return run
    except IntegrityError as error:
        raise SiteBusy(f"{site} is being checked at this moment. Its result will be there in a minute.") from error


def _carry_out(run: Run, progress: Progress) -> Run:
    # Days gone by stay as they were served.
    plan_servings(site=run.site, first=max(run.first_day, _today(run)), last=run.last_day)
    facts = load(run.site, run.first_day, run.last_day, run.as_of)
    result = _evaluate(facts, run, progress)
    with transaction.atomic(), as_one(Verb.CHECKED, run, site=run.site, trigger=run.trigger) as entry:
        _hold(run)
        run.inputs = facts.inputs | {"rules": [rule.id for rule in RULES]}
        run.result_hash = result.hash
        run.counts = _counts(result)
        earlier = Run.objects.newest_for(run.site)
        if earlier and _says_the_same(earlier, run):
            run.same_as = earlier.same_as or earlier
        else:
            store(run, result)
        run.counts["referrals"] = open_referrals(run.same_as or run)
        run.state = Run.State.COMPLETE
        run.finished_at = timezone.now()
        run.save()
        entry.said |= {"first": run.first_day, "last": run.last_day, "counts": run.counts, "result": run.result_hash}
    progress("stored", 1, 1)
    return run


def _hold(run: Run) -> None:
    """Lock the claim until the end of the transaction. Raises SiteBusy when it was given up for dead meanwhile."""
    if not Run.objects.select_for_update().filter(pk=run.pk, state=Run.State.RUNNING).exists():
        raise SiteBusy(f"This check of {run.site} took so long that another has taken its place. Nothing was stored.")


def _today(run: Run) -> date:
    """The site's day on which the check is made."""
    return run.as_of.astimezone(run.site.zone).date()


def _says_the_same(earlier: Run, run: Run) -> bool:
    return (earlier.result_hash, earlier.first_day, earlier.last_day) == (run.result_hash, run.first_day, run.last_day)


def _evaluate(facts: Facts, run: Run, progress: Progress) -> Result:
    children = children_at(run.site, run.first_day, run.last_day)
    spans = periods(children, run.first_day, run.last_day, run.as_of)
    types = dict.fromkeys(period.type for period in spans)
    # What came before the first day is looked at only for what it left on the equipment.
    ahead = {each: pieces for each, pieces in prepared(facts, _today(run)).items() if each.date >= run.first_day}
    dishes: dict[DishKey, Pieces] = {}
    served: dict[Serving, DishKey] = {}
    for serving, pieces in with_meals(ahead, types).items():
        key = dish_key(serving.recipe_id, pieces)
        served[serving] = key
        dishes[key] = pieces
    verdicts: dict[tuple[DishKey, RestrictionType], Verdict] = {}
    for done, (key, pieces) in enumerate(dishes.items(), start=1):
        verdicts.update(judge_all({key: pieces}, types))
        progress("judging dishes", done, len(dishes))
    return Result(served, dishes, spans, verdicts)


def _counts(result: Result) -> dict[str, Any]:
    return {
        "servings": len(result.served),
        "dishes": len(result.dishes),
        "types": len({period.type for period in result.periods}),
        "children": len({period.restriction.child_id for period in result.periods}),
        "verdicts": count_outcomes(result.verdicts.values()),
    }


def _silent(what: str, done: int, of: int) -> None:
    """Report progress to nobody."""
