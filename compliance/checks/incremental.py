"""After a change of food alone: judge the dishes that hold it again, and leave everything else as it stands.

What comes of it is what a check of the whole site would find, to the same fingerprint. A site of which that cannot be
said beforehand is left to such a check: where time or records made of the equipment something else since, where other
kitchens bring dishes, where dishes of a meal are judged together, and where the run that stands is of another day or
edition. So is one where anything goes wrong: checked whole it fails alone, and where it can be seen.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from compliance.checks.asread import as_read
from compliance.checks.bulk.district import alone
from compliance.checks.dishbydish import Group, Runs, Together, check_together
from compliance.checks.edition import edition
from compliance.checks.foodstands import Changed, Versions, all_of, changed, versions_at, versions_of
from compliance.checks.moment import moment
from compliance.checks.reach import Reach
from compliance.checks.schedule import last_looked_at
from compliance.checks.slices import TRANSIENT, Checked, rings_left_for_later
from compliance.models import FoodRead, Panel, RestrictionTypeRow, RunRestriction
from menus.models import Site
from menus.substances.combinations import combinations

logger = logging.getLogger(__name__)


@rings_left_for_later()
def check_food(sites: Sequence[Site], runs: Runs, edited: Changed, reach: Reach) -> Together:
    """Check those of the sites whose coming days rest on food that is not what their run (by site) has read.

    `edited`: products and recipes whose own rows were changed, which no version tells; `reach`: what they reach.
    """
    now = moment()
    stands = versions_at(now)
    recipes = _recipes(sites, runs, stands, edited, reach, now)
    there = [site for site in sites if site.pk in recipes]
    ready, left = _ready(there, runs, now)
    done = Together(Checked(), left)
    groups: dict[tuple[date, date, int], list[Site]] = {}
    for site in ready:
        run = runs[site.pk]
        groups.setdefault((run.first_day, run.last_day, run.panel_id or 0), []).append(site)
    panels = Panel.objects.in_bulk([panel for _, _, panel in groups])
    for (first, last, panel), together in groups.items():
        try:
            with transaction.atomic():
                found = check_together(Group(together, runs, panels[panel], first, last, now), recipes, stands)
        except TRANSIENT:
            raise
        except Exception:
            said = "What changed could not be checked dish by dish: %s sites are checked whole."
            logger.warning(said, len(together), exc_info=True)
            done.left += together
        else:
            done.result.take(found.result)
            done.left += found.left
    return done


def _recipes(
    sites: Sequence[Site], runs: Runs, stands: Versions, edited: Changed, reach: Reach, now: datetime
) -> dict[int, set[int]]:
    """By site, the recipes that hold what its run has not read; no site that serves none of them."""
    foods = FoodRead.objects.filter(pk__in={runs[site.pk].food_id for site in sites})
    differs = changed({food.pk: versions_of(food) for food in foods}, stands, now)
    products, recipes = all_of([*differs.values(), edited])
    if not reach.covers(products, recipes):
        reach = Reach(products, recipes, now)
    by_food: dict[int | None, tuple[set[int], set[int]]] = {}
    for food, change in differs.items():
        bought, cooked = change.products | edited.products, change.recipes | edited.recipes
        by_food[food] = (reach.recipes(bought, cooked), reach.sites(bought, cooked))
    found: dict[int, set[int]] = {}
    for site in sites:
        held, reached = by_food.get(runs[site.pk].food_id, (set(), set()))
        if site.pk in reached:
            found[site.pk] = held
    return found


def _ready(sites: Sequence[Site], runs: Runs, now: datetime) -> tuple[list[Site], list[Site]]:
    """Return the sites that can be checked dish by dish, and those that are to be checked whole."""
    kitchens = alone(sites, {})
    equipped = [site for site in sites if site.pk in kitchens]
    own = kitchens - as_read(equipped, runs, now) | _apart(sites, runs)
    current = set(Panel.objects.filter(edition=edition()).values_list("pk", flat=True))
    ready: list[Site] = []
    left: list[Site] = []
    for site in sites:
        run = runs[site.pk]
        today = now.astimezone(site.zone).date()
        # Labels were judged by their age on the day on which the run was made, which may have been made ahead.
        made_on = run.as_of.astimezone(site.zone).date()
        is_current = (made_on, run.first_day, run.last_day) == (today, today, last_looked_at(today))
        is_ready = is_current and run.panel_id in current and run.sums and site.pk not in own
        (ready if is_ready else left).append(site)
    return ready, left


def _apart(sites: Sequence[Site], runs: Runs) -> set[int]:
    """The sites where somebody keeps two foods apart within a meal."""
    types = RestrictionTypeRow.objects.filter(substance__in=list(combinations()))
    under = {runs[site.pk].reads_of for site in sites}
    rows = RunRestriction.objects.filter(type__in=types, run__in=under).order_by()
    with_some = set(rows.values_list("run", flat=True).distinct())
    return {site.pk for site in sites if runs[site.pk].reads_of in with_some}
