"""Which sites a product or a recipe reaches: all that serve it at any depth, and no others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.reach import Reach, beside, cooked_by, sites_reached
from compliance.checks.recheck import sites_touched
from menus.models import Deed, KitchenEvent, Product, Recipe, Site
from tests.factories import (
    CycleMenuFactory,
    DeliveryFactory,
    EnrolmentFactory,
    LabelFactory,
    PlanStepFactory,
    ProductFactory,
    RestrictionFactory,
    ServingFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
    cooked,
    recook,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def flour() -> Product:
    """What goes into a dough."""
    return ProductFactory()


@pytest.fixture
def pizza(flour: Product) -> Recipe:
    """A dish that holds a dough, which holds the flour."""
    return cooked("pizza", cooked("dough", flour), ProductFactory())


def reached(*products: Product) -> set[int]:
    """The sites that these reach now."""
    return sites_reached([each.pk for each in products], (), timezone.now())


def served(recipe: Recipe, **serving: object) -> Site:
    """A site that serves the dish."""
    return ServingFactory(recipe=recipe, **serving).site


def test_what_serves_it_at_any_depth(flour: Product, pizza: Recipe) -> None:
    """And what serves something else is left out."""
    there = served(pizza)
    served(cooked("salad", ProductFactory()))
    assert reached(flour) == {there.pk}
    assert reached(ProductFactory()) == set()


def test_only_standing_versions_count(flour: Product, pizza: Recipe) -> None:
    """The dough is made of something else by now."""
    served(pizza)
    dough = Recipe.objects.get(name="dough")
    recook(dough, [ProductFactory()])
    assert reached(flour) == set()


@pytest.mark.parametrize(("days", "is_reached"), [(-1, False), (0, True), (13, True), (40, False)])
def test_only_days_that_a_check_looks_at_count(pizza: Recipe, flour: Product, days: int, is_reached: bool) -> None:
    """What was eaten yesterday is over, and what is planned for next month is checked when it comes into view."""
    there = served(pizza, date=timezone.localdate() + timedelta(days=days))
    assert (there.pk in reached(flour)) is is_reached


def test_a_withdrawn_serving_does_not_count(pizza: Recipe, flour: Product) -> None:
    """Nobody cooks it."""
    served(pizza, withdrawn_at=timezone.now())
    assert reached(flour) == set()


def test_days_are_those_of_the_site(pizza: Recipe, flour: Product) -> None:
    """Where it is still yesterday, yesterday's dish is today's."""
    behind = SiteFactory(time_zone="Pacific/Pago_Pago")
    there = served(pizza, site=behind, date=timezone.now().astimezone(behind.zone).date())
    assert reached(flour) == {there.pk}


class TestKitchens:
    """What stands on equipment meets all that the kitchen cooks."""

    def test_an_earlier_day_counts_where_equipment_is_on_record(self, pizza: Recipe, flour: Product) -> None:
        """The oil of last week is in the fryer still."""
        surface = SurfaceFactory()
        PlanStepFactory(surface=surface)
        week_ago = timezone.localdate() - timedelta(days=7)
        served(pizza, site=surface.site, date=week_ago)
        served(pizza, date=week_ago)
        assert reached(flour) == {surface.site.pk}

    def test_all_that_share_a_kitchen_with_equipment(self, pizza: Recipe, flour: Product) -> None:
        """The dish goes to one site, and meets what goes to the other."""
        kitchen, one, other, elsewhere = (SiteFactory() for _ in range(4))
        for site in (one, other):
            DeliveryFactory(kitchen=kitchen, site=site)
        DeliveryFactory(kitchen=elsewhere, site=other)
        served(pizza, site=one)
        assert reached(flour) == {one.pk}
        PlanStepFactory(surface=SurfaceFactory(site=kitchen))
        assert reached(flour) == {kitchen.pk, one.pk, other.pk}

    @pytest.mark.parametrize("kind", [Deed.SWAP, Deed.LEFTOVER])
    def test_what_was_swapped_in_or_left_over(self, kind: Deed, flour: Product) -> None:
        """It stands in no recipe of the dish."""
        serving, now = ServingFactory(), timezone.now()
        named = (
            {"product_out": ProductFactory(), "product_in": flour}
            if kind is Deed.SWAP
            else {"batch": ServingFactory(site=serving.site, date=serving.date - timedelta(days=1))}
        )
        KitchenEvent.objects.create(
            site=serving.site,
            kind=kind,
            serving=serving,
            happened_at=now - timedelta(hours=1),
            recorded_at=now - timedelta(minutes=50),
            recorded_by=UserFactory(),
            **named,
        )
        assert reached(flour) == {serving.site_id}

    def test_beside_and_cooked_by(self) -> None:
        """A record in a kitchen concerns those for whom it cooks; a serving concerns all that its kitchens cook for."""
        kitchen, one, other = (SiteFactory() for _ in range(3))
        for site in (one, other):
            DeliveryFactory(kitchen=kitchen, site=site)
        assert cooked_by(kitchen.pk) == beside(one.pk) == {kitchen.pk, one.pk, other.pk}
        assert cooked_by(one.pk) == {one.pk}
        assert beside(SiteFactory().pk).isdisjoint({kitchen.pk, one.pk, other.pk})


class TestFacts:
    """What bears on which sites."""

    def test_a_label_and_a_recipe_version(self, flour: Product, pizza: Recipe) -> None:
        """The same sites, whether the flour's label is new or the dough's recipe."""
        there = served(pizza)
        served(cooked("salad", ProductFactory()))
        assert list(sites_touched(LabelFactory(product=flour))) == [there]
        assert list(sites_touched(recook(Recipe.objects.get(name="dough"), [flour]))) == [there]

    def test_a_child_is_where_its_days_are(self) -> None:
        """Not where it was last year, nor where it will be next year."""
        restriction = RestrictionFactory()
        today = timezone.localdate()
        stays = {"past": (-400, -300), "now": (-30, 3), "soon": (4, 30), "later": (90, None)}
        sites = {
            name: EnrolmentFactory(
                child=restriction.child,
                starts_on=today + timedelta(days=begins),
                ends_on=None if ends is None else today + timedelta(days=ends),
            ).classroom.site
            for name, (begins, ends) in stays.items()
        }
        assert set(sites_touched(restriction)) == {sites["now"], sites["soon"]}

    def test_what_names_no_site_concerns_all(self) -> None:
        """A supplier's name may stand anywhere; a cycle menu names its site."""
        cycle = CycleMenuFactory()
        SiteFactory()
        assert list(sites_touched(cycle)) == [cycle.site]
        assert set(sites_touched(ProductFactory().supplier)) == set(Site.objects.all())


def test_many_are_asked_for_in_as_many_queries_as_one(django_assert_num_queries) -> None:
    """Read once, and one query more for each level of recipes in recipes."""
    flours = [ProductFactory() for _ in range(5)]
    sites = [served(cooked(f"bread {number}", flour)) for number, flour in enumerate(flours)]
    with django_assert_num_queries(8):
        reach = Reach([each.pk for each in flours], (), timezone.now())
        assert [reach.sites([each.pk], ()) for each in flours] == [{site.pk} for site in sites]
