"""Many sites judged together find what each finds judged alone: the same dishes as prepared, the same exceptions."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from compliance.benchmarks.world.load import load_world
from compliance.benchmarks.world.size import Size
from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.district import Table, judge_sites
from compliance.checks.bulk.kitchens import as_prepared, facts_of
from compliance.checks.bulk.larder import read_larder
from compliance.checks.children import children_at, periods
from compliance.checks.load import load
from compliance.checks.meals import with_meals
from compliance.checks.prepare import prepared
from compliance.rules.judge import judge
from compliance.rules.values import Outcome
from menus.models import Delivery, KitchenEvent, Meal, PlanStep, Product, Serving, Site
from menus.services.servings import plan_servings
from roster.models import Restriction
from tests.cast import Cast
from tests.factories import DeliveryFactory, UserFactory

DAYS = 14
Met = set[tuple[int, int, int]]  # serving, restriction, outcome


def met(table: Table) -> dict[int, Met]:
    """The exceptions of each site, by its id."""
    found = outcomes(table.codes)
    column = {kind: number for number, kind in enumerate(table.types)}
    return {
        site: {
            (serving, each.restriction, int(outcome))
            for each in table.spans[site]
            for serving, day, row in served
            if each.first <= day <= each.last and (outcome := found[row, column[each.type]]) >= Outcome.REFER
        }
        for site, served in table.served.items()
    }


def one_by_one(site: Site, first: date, last: date, at: datetime) -> Met:
    """What judging every dish for every child finds, one after the other."""
    plan_servings(site=site, first=first, last=last)
    held = periods(children_at(site, first, last), first, last, at)
    made = prepared(load(site, first, last, at), at.astimezone(site.zone).date())
    ahead = {serving: pieces for serving, pieces in made.items() if serving.date >= first}
    return {
        (serving.pk, period.restriction.pk, int(verdict.outcome))
        for serving, pieces in with_meals(ahead, [period.type for period in held]).items()
        for period in held
        if period.first <= serving.date <= period.last
        and (verdict := judge(period.type, pieces)).outcome >= Outcome.REFER
    }


def both(sites: list[Site]) -> tuple[dict[int, Met], dict[int, Met]]:
    """The exceptions found one by one and together."""
    at = timezone.now()
    first = at.astimezone(sites[0].zone).date()
    last = first + timedelta(days=DAYS - 1)
    alone = {site.pk: one_by_one(site, first, last, at) for site in sites}
    return alone, met(judge_sites(sites, first, last, at))


@pytest.fixture
def sites(db: None) -> list[Site]:
    """Four small sites: the first has an order of work and cooks for the second, two lie elsewhere."""
    load_world(Size(2_000))
    made = list(Site.objects.order_by("pk"))
    DeliveryFactory(kitchen=made[0], site=made[1], meal=Meal.LUNCH, recipe=None)
    Site.objects.filter(pk=made[2].pk).update(jurisdiction="eu")
    Site.objects.filter(pk=made[3].pk).update(time_zone="Pacific/Auckland")
    return list(Site.objects.order_by("pk"))


def test_a_district_finds_what_its_sites_find(sites: list[Site]) -> None:
    """Every exception of every site, and no other; a child who keeps meat and milk apart among them."""
    kept = Restriction.objects.filter(child__enrolments__classroom__site=sites[3]).earliest("pk")
    Restriction.objects.create(child=kept.child, substance="meat-with-milk", recorded_at=kept.recorded_at)
    alone, together = both(sites)
    assert together == alone
    assert all(together.values())


def test_the_cast_meets_the_same(cast: Cast) -> None:
    """Both of its sites, with what each of its children may not have."""
    alone, together = both([cast.ferrowick, cast.tansy_gate])
    assert together == alone
    assert together[cast.ferrowick.pk]


def test_kitchens_read_together_are_the_kitchens_read_alone(sites: list[Site]) -> None:
    """The same facts and the same dishes as prepared, whatever was swapped at one of them."""
    at = timezone.now()
    first = at.date()
    last = first + timedelta(days=DAYS - 1)
    swapped = Serving.objects.filter(site=sites[0], date__gte=first, recipe__versions__lines__product__gt=0).first()
    assert swapped
    out = Product.objects.filter(lines__version__recipe=swapped.recipe).first()
    event = KitchenEvent(
        site=sites[0],
        kind="swap",
        serving=swapped,
        product_out=out,
        product_in=Product.objects.exclude(pk=out and out.pk).first(),
        happened_at=at - timedelta(hours=1),
        recorded_at=at - timedelta(minutes=50),
        recorded_by=UserFactory(),
    )
    for is_swapped in (False, True):
        if is_swapped:
            event.save()
        larder = read_larder(at)
        for pk, facts in facts_of(sites, larder, first, last, at).items():
            site = next(each for each in sites if each.pk == pk)
            read = load(site, first, last, at)
            assert facts.inputs == read.inputs
            today = at.astimezone(site.zone).date()
            assert as_prepared(facts, larder, today) == prepared(read, today)
    assert PlanStep.objects.filter(site=sites[0]).exists() and Delivery.objects.exists()
