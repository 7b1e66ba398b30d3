"""Check one site's coming days, and work an earlier check out again."""

from __future__ import annotations

from datetime import date, datetime

from compliance.checks.bulk.district import judge_again
from compliance.checks.bulk.larder import Larder
from compliance.checks.bulk.spans import spans
from compliance.checks.claims import SiteBusy
from compliance.checks.load import reload
from compliance.checks.slices import Progress, check_sites, silent
from compliance.models import Run
from menus.lexicon import lexicon_with
from menus.models import Site

__all__ = ["Progress", "SiteBusy", "check_site", "recompute"]


def check_site(
    *,
    site: Site,
    trigger: Run.Trigger | str,
    as_of: datetime | None = None,
    first_day: date | None = None,
    days: int | None = None,
    progress: Progress = silent,
) -> Run:
    """Do for one site what `check_sites` does for many, and return the run.

    Raises SiteBusy when another check of the site is under way or has read later facts: what is older never takes the
    place of what is newer. Any other failure is kept in the run as `failed` and raised again.
    """
    checked = check_sites([site], trigger=trigger, as_of=as_of, first_day=first_day, days=days, progress=progress)
    for reason in checked.busy.values():
        raise SiteBusy(reason)
    for _, error in checked.failed:
        raise error
    return checked.runs[0]


def recompute(run: Run) -> str:
    """Work the run out again from the versions it read, dish by dish, and return the fingerprint of the result."""
    assert run.food is not None  # a complete run has read the food
    facts = reload(run.site, run.food, run.inputs, run.as_of)
    read = spans([run.site], run.first_day, run.last_day, run.as_of)[run.site_id]
    larder = Larder(facts.recipes, facts.products, facts.words, lexicon_with(facts.words))
    return judge_again(facts, read, run.first_day, run.last_day, larder).hash_of(run.site_id)
