"""What the kitchen records reaches the children's verdicts at once, and an old run still comes out the same."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from compliance.checks.announced import announced
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.night import check_and_tell
from compliance.checks.recheck import sites_touched
from compliance.checks.run import check_site, recompute
from compliance.checks.unreadsites import unread_changes
from compliance.models import Announcement, Run, UnreadChange
from compliance.tasks import recheck
from menus.models import Deed, KitchenEvent, Meal, PlanStep, Product, Recipe, Serving, Site, Surface
from menus.services.kitchen import Doing, record_event, take_back
from menus.services.labels import record_label
from tests.cast import Cast
from tests.clock import noon_at
from tests.factories import (
    DeliveryFactory,
    PlanStepFactory,
    ProductFactory,
    ServingFactory,
    SurfaceFactory,
    cooked,
    labelled,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def kitchen(cast: Cast) -> Site:
    """Ferrowick, some minutes after noon."""
    return noon_at(cast.ferrowick)


@pytest.fixture
def slicer(kitchen: Site) -> Surface:
    return SurfaceFactory.create(site=kitchen, name="Slicer")


def at(site: Site, hours: str, day: date | None = None) -> datetime:
    """That time of today on the site's clock."""
    return datetime.combine(day or timezone.localdate(), time.fromisoformat(hours), site.zone)


def plan(surface: Surface, cast: Cast, *times: str) -> tuple[PlanStep, PlanStep, PlanStep]:
    """Peanut sandwich, full wash, ham and rice, on one surface."""
    first, wash, second = times
    return (
        PlanStepFactory.create(surface=surface, at=time.fromisoformat(first), recipe=cast.dishes.peanut_sandwich),
        PlanStepFactory.create(surface=surface, at=time.fromisoformat(wash), cleaning=True),
        PlanStepFactory.create(surface=surface, at=time.fromisoformat(second), recipe=cast.dishes.ham_and_rice),
    )


def exceptions(site: Site, dish: Recipe) -> list[ExceptionRow]:
    """Check the site, and return today's exceptions of the dish."""
    check_site(site=site, trigger=Run.Trigger.CHANGE)
    return standing(site, dish)


def standing(site: Site, dish: Recipe) -> list[ExceptionRow]:
    today = timezone.localdate()
    return [
        row for row in find_exceptions(None, ExceptionFilter(today, today, site=site)) if row.serving.recipe == dish
    ]


def who(rows: list[ExceptionRow]) -> dict[str, str]:
    """Child and outcome."""
    return {row.child.given_name: row.outcome.code for row in rows}


PORK_AND_MEAT = {"Yusuf": "withhold", "Saoirse": "withhold"}
"""Who meets ham and rice by itself."""


class TestCleaning:
    """An event not recorded did not happen."""

    def test_ahead_the_planned_wash_counts(self, cast: Cast, slicer: Surface) -> None:
        """At noon, for work planned for the afternoon."""
        plan(slicer, cast, "14:00", "14:10", "14:20")
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == PORK_AND_MEAT

    def test_past_and_unrecorded_it_does_not(self, cast: Cast, slicer: Surface) -> None:
        """The ham was on the slicer after the peanut, and nobody says that it was washed in between."""
        plan(slicer, cast, "10:00", "10:30", "11:00")
        rows = exceptions(cast.ferrowick, cast.dishes.ham_and_rice)
        assert who(rows) == PORK_AND_MEAT | {"Mateo": "withhold", "Noor": "withhold"}
        mateo = next(row for row in rows if row.child == cast.mateo)
        assert mateo.main_reason.rule == "R04"
        assert [link.name for link in mateo.main_reason.chain][-2:] == ["10:00", "Slicer"]

    def test_a_record_between_the_two_counts(self, cast: Cast, slicer: Surface) -> None:
        """Entered late, with the time at which it was done."""
        _, wash, _ = plan(slicer, cast, "10:00", "10:30", "11:00")
        record_event(
            site=cast.ferrowick,
            user=cast.greta,
            doing=Doing(Deed.CLEAN, surface=slicer, step=wash, method="wash_rinse_sanitize"),
            happened_at=at(cast.ferrowick, "10:45"),
        )
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == PORK_AND_MEAT

    @pytest.mark.parametrize(("method", "when"), [("sanitize_only", "10:45"), ("wash_rinse_sanitize", "11:30")])
    def test_a_wipe_or_a_wash_afterwards_does_not(self, cast: Cast, slicer: Surface, method: str, when: str) -> None:
        """XC03 and XC23 of the scenarios."""
        _, wash, _ = plan(slicer, cast, "10:00", "10:30", "11:00")
        record_event(
            site=cast.ferrowick,
            user=cast.greta,
            doing=Doing(Deed.CLEAN, surface=slicer, step=wash, method=method),
            happened_at=at(cast.ferrowick, when),
        )
        assert "Mateo" in who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))

    def test_a_record_taken_back_counts_no_more(self, cast: Cast, slicer: Surface) -> None:
        """And both are kept."""
        _, wash, _ = plan(slicer, cast, "10:00", "10:30", "11:00")
        washed = record_event(
            site=cast.ferrowick,
            user=cast.greta,
            doing=Doing(Deed.CLEAN, surface=slicer, step=wash, method="wash_rinse_sanitize"),
            happened_at=at(cast.ferrowick, "10:45"),
        )
        take_back(event=washed, user=cast.greta)
        assert "Mateo" in who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))
        assert KitchenEvent.objects.count() == 2


class TestOrder:
    """The order in which things were done, not the one that was planned."""

    def test_the_ham_was_sliced_first(self, cast: Cast, slicer: Surface) -> None:
        """Recorded before the peanut sandwich, it met nothing."""
        _, _, ham = plan(slicer, cast, "10:00", "10:30", "11:00")
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        record_event(
            site=cast.ferrowick,
            user=cast.greta,
            doing=Doing(Deed.USE, surface=slicer, serving=served, step=ham),
            happened_at=at(cast.ferrowick, "09:50"),
        )
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == PORK_AND_MEAT

    def test_a_dish_on_equipment_that_no_plan_names_it_for(self, cast: Cast, slicer: Surface) -> None:
        """A slip: peanut on the slicer in the morning, without a plan at all, reaches the ham by its record alone."""
        PlanStepFactory.create(surface=slicer, at=time(11), recipe=cast.dishes.ham_and_rice)
        assert "Mateo" not in who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))
        peanut = Serving.objects.get(recipe=cast.dishes.peanut_sandwich)
        record_event(
            site=cast.ferrowick,
            user=cast.greta,
            doing=Doing(Deed.USE, surface=slicer, serving=peanut),
            happened_at=at(cast.ferrowick, "10:00"),
        )
        assert "Mateo" in who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))

    def test_a_dish_taken_off_the_plan_left_what_it_left(self, cast: Cast, slicer: Surface) -> None:
        """It was on the slicer, as the record says, and is not served: the next one meets it all the same."""
        PlanStepFactory.create(surface=slicer, at=time(11), recipe=cast.dishes.ham_and_rice)
        peanut = Serving.objects.get(recipe=cast.dishes.peanut_sandwich)
        doing = Doing(Deed.USE, surface=slicer, serving=peanut)
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing, happened_at=at(cast.ferrowick, "10:00"))
        Serving.objects.filter(pk=peanut.pk).update(withdrawn_at=timezone.now())
        assert "Mateo" in who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))


class TestSwap:
    """We are out of X, and used Y."""

    def swap(self, cast: Cast, into: Product, **more: bool) -> KitchenEvent:
        """Something in place of the ham."""
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice, date=timezone.localdate())
        doing = Doing(Deed.SWAP, serving=served, product_out=cast.larder.ham, product_in=into, **more)
        return record_event(site=cast.ferrowick, user=cast.greta, doing=doing)

    def test_both_count_while_some_portions_hold_the_first(self, cast: Cast) -> None:
        """The peanut tofu comes on top of the ham."""
        self.swap(cast, labelled("tofu (soybeans, water), peanuts", name="Peanut tofu"))
        found = who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))
        assert found == PORK_AND_MEAT | {"Mateo": "withhold"}

    def test_the_second_alone_counts_when_no_portion_holds_the_first(self, cast: Cast) -> None:
        """Yusuf and Saoirse may have it now."""
        self.swap(cast, labelled("tofu (soybeans, water), peanuts", name="Peanut tofu"), whole=True)
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == {"Mateo": "withhold"}

    def test_a_product_without_a_label_refers_everybody(self, cast: Cast) -> None:
        """Until its label is recorded."""
        unknown = ProductFactory.create(name="Some tofu")
        self.swap(cast, unknown, whole=True)
        found = who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice))
        assert set(found) >= {"Mateo", "Noor", "Kofi"} and set(found.values()) == {"refer"}
        record_label(product=unknown, ingredients="tofu (soybeans, water)", seen_on=timezone.localdate())
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == {}

    def test_the_same_dish_on_another_day_is_as_its_recipe_says(self, cast: Cast) -> None:
        """A swap is of one serving."""
        tomorrow = timezone.localdate() + timedelta(days=1)
        ServingFactory.create(site=cast.ferrowick, recipe=cast.dishes.ham_and_rice, date=tomorrow)
        self.swap(cast, labelled("peanuts", name="Peanuts"))
        check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        rows = find_exceptions(None, ExceptionFilter(tomorrow, tomorrow, site=cast.ferrowick))
        assert {row.child.given_name for row in rows} == {"Yusuf", "Saoirse"}


class TestLeftovers:
    """What is left over keeps what it holds and the day on which it was made."""

    def test_the_batch_brings_what_it_held_and_picked_up(self, cast: Cast, slicer: Surface) -> None:
        """Yesterday's sandwich filling in today's ham and rice; the label was mended since."""
        yesterday = timezone.localdate() - timedelta(days=1)
        filling = labelled("soy flour, sesame", name="Filling")
        morning = timezone.now() - timedelta(days=2)
        filling.labels.update(recorded_at=morning)
        spread = cooked("Spread", filling)
        spread.versions.update(recorded_at=morning)
        batch = ServingFactory.create(site=cast.ferrowick, recipe=spread, date=yesterday)
        peanut = ServingFactory.create(site=cast.ferrowick, recipe=cast.dishes.peanut_sandwich, date=yesterday)
        for hours, dish in (("10:00", peanut), ("10:10", batch)):
            record_event(
                site=cast.ferrowick,
                user=cast.greta,
                doing=Doing(Deed.USE, surface=slicer, serving=dish),
                happened_at=at(cast.ferrowick, hours, yesterday),
            )
        record_label(product=filling, ingredients="soy flour", seen_on=timezone.localdate())
        today = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        doing = Doing(Deed.LEFTOVER, serving=today, batch=batch)
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing)

        run = check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)

        rows = {row.child.given_name: row for row in standing(cast.ferrowick, cast.dishes.ham_and_rice)}
        assert rows.keys() >= {"Kofi", "Mateo"}, "sesame by the label of that day, peanut by the slicer"
        named = [link.name for link in rows["Kofi"].main_reason.chain]
        assert f"Spread, left over from {yesterday:%Y-%m-%d}" in named
        assert recompute(run) == run.result_hash


class TestRun:
    """Runs name what they read of the kitchen."""

    def test_recomputed_after_the_kitchen_went_on(self, cast: Cast, slicer: Surface) -> None:
        """More records, another plan, another description of the slicer: the old run comes out as it was."""
        peanut, wash, _ = plan(slicer, cast, "10:00", "10:30", "11:00")
        run = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        assert [wash.pk, timezone.localdate().isoformat()] in run.inputs["not_done"]
        doing = Doing(Deed.CLEAN, surface=slicer, step=wash, method="wash_rinse_sanitize")
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing, happened_at=at(cast.ferrowick, "10:45"))
        PlanStep.objects.filter(pk=peanut.pk).update(withdrawn_at=timezone.now())
        Surface.objects.filter(pk=slicer.pk).update(material="porous", name="Old slicer")
        later = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        assert later.result_hash != run.result_hash
        assert recompute(run) == run.result_hash
        assert recompute(later) == later.result_hash

    def test_a_record_is_an_unread_change(self, cast: Cast, slicer: Surface) -> None:
        """Though its message never arrived."""
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        assert not unread_changes(cast.ferrowick)
        doing = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse_sanitize")
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
        assert unread_changes(cast.ferrowick)

    def test_time_that_passes_over_a_planned_wash_is_an_unread_change(self, cast: Cast, slicer: Surface) -> None:
        """Nobody recorded anything, and that is the news."""
        _, wash, ham = plan(slicer, cast, "14:00", "14:10", "14:20")
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        assert not unread_changes(cast.ferrowick)
        PlanStep.objects.filter(pk=wash.pk).update(at=time(10))
        PlanStep.objects.filter(pk=ham.pk).update(at=time(11))
        assert unread_changes(cast.ferrowick)

    def test_a_record_has_the_site_checked_again(
        self, cast: Cast, slicer: Surface, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks
    ) -> None:
        """At once."""
        connection.run_on_commit.clear()
        UnreadChange.objects.all().delete()
        monkeypatch.setattr(recheck, "delay", lambda: None)
        doing = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse_sanitize")
        with django_capture_on_commit_callbacks(execute=True):
            record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
        assert [note.site for note in UnreadChange.objects.all()] == [cast.ferrowick]


class TestAnnouncement:
    """What became an exception today is kept for those who must know."""

    def test_a_swap_at_noon_is_announced(self, cast: Cast) -> None:
        """With the child, the food and the time; and no more once the swap is taken back."""
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
        assert not Announcement.objects.exists()
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        nuts = labelled("peanuts", name="Peanuts")
        doing = Doing(Deed.SWAP, serving=served, product_out=cast.larder.rice, product_in=nuts)
        swap = record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        said = announced(standing(cast.ferrowick, cast.dishes.ham_and_rice))
        assert [(each.row.child, each.row.restriction.substance) for each in said] == [(cast.mateo, "peanut")]

        take_back(event=swap, user=cast.greta)
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        assert announced(standing(cast.ferrowick, cast.dishes.ham_and_rice)) == []

    def test_what_the_night_found_is_no_news(self, cast: Cast) -> None:
        """The first check of a day announces nothing."""
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        assert not Announcement.objects.exists()


class TestCentralKitchen:
    """Ferrowick's kitchen cooks for Tansy Gate."""

    @pytest.fixture
    def mash(self, cast: Cast, kitchen: Site) -> Recipe:
        """Mashed potato, at Tansy Gate's lunch."""
        noon_at(cast.tansy_gate)
        mash = cooked("Mashed potato", labelled("potatoes, water", name="Potatoes"))
        ServingFactory.create(site=cast.tansy_gate, recipe=mash)
        return mash

    @pytest.fixture
    def milky(self, cast: Cast) -> Recipe:
        """Something with milk, at Ferrowick's lunch."""
        milky = cooked("Milk sauce", labelled("whole milk", name="Whole milk"))
        ServingFactory.create(site=cast.ferrowick, recipe=milky)
        return milky

    def on_the_mixer(self, cast: Cast, *dishes: Recipe) -> Surface:
        mixer = SurfaceFactory.create(site=cast.ferrowick, name="Mixer")
        for hour, dish in enumerate(dishes, start=9):
            PlanStepFactory.create(surface=mixer, at=time(hour), recipe=dish)
        return mixer

    def test_what_the_kitchen_cooks_for_others_meets_what_it_cooks_for_itself(
        self, cast: Cast, mash: Recipe, milky: Recipe
    ) -> None:
        """Ravi may not have milk, and eats at Tansy Gate."""
        mixer = self.on_the_mixer(cast, milky, mash)
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, recipe=mash)
        rows = exceptions(cast.tansy_gate, mash)
        assert who(rows) == {"Ravi": "withhold"}
        assert rows[0].main_reason.chain[-1].name == mixer.name

    def test_what_the_site_cooks_itself_does_not(self, cast: Cast, mash: Recipe, milky: Recipe) -> None:
        """Without a delivery, Ferrowick's mixer is no matter of Tansy Gate's."""
        self.on_the_mixer(cast, milky, mash)
        assert who(exceptions(cast.tansy_gate, mash)) == {}

    def test_a_delivery_that_ended_brings_nothing(self, cast: Cast, mash: Recipe, milky: Recipe) -> None:
        """Tansy Gate cooks its own again."""
        self.on_the_mixer(cast, milky, mash)
        ended = timezone.now()
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, recipe=mash, withdrawn_at=ended)
        assert who(exceptions(cast.tansy_gate, mash)) == {}

    def test_what_is_cooked_for_others_meets_what_the_kitchen_cooks_for_itself(self, cast: Cast, mash: Recipe) -> None:
        """The other way round: Tansy Gate's yogurt in Ferrowick's mixer before Ferrowick's rice. Anneke eats there."""
        self.on_the_mixer(cast, cast.dishes.yogurt_cup, cast.dishes.ham_and_rice)
        PlanStep.objects.filter(recipe=cast.dishes.yogurt_cup).update(meal=Meal.SNACK)
        DeliveryFactory.create(
            kitchen=cast.ferrowick, site=cast.tansy_gate, meal=Meal.SNACK, recipe=cast.dishes.yogurt_cup
        )
        assert who(exceptions(cast.ferrowick, cast.dishes.ham_and_rice)) == PORK_AND_MEAT | {"Anneke": "withhold"}

    def test_one_batch_for_two_sites_is_one_dish(self, cast: Cast, mash: Recipe) -> None:
        """It does not carry over to itself."""
        ServingFactory.create(site=cast.ferrowick, recipe=mash)
        self.on_the_mixer(cast, mash)
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, recipe=mash)
        assert who(exceptions(cast.tansy_gate, mash)) == {}

    def test_a_record_of_the_kitchen_concerns_both_sites(self, cast: Cast, mash: Recipe, milky: Recipe) -> None:
        """The swap is of the batch, whichever of its servings the cook touched; the old run comes out as it was."""
        self.on_the_mixer(cast, mash)
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, recipe=mash)
        served = ServingFactory.create(site=cast.ferrowick, recipe=mash)
        before = check_site(site=cast.tansy_gate, trigger=Run.Trigger.HAND)
        milk, potatoes = (Product.objects.get(name=name) for name in ("Whole milk", "Potatoes"))
        doing = Doing(Deed.SWAP, serving=served, product_out=potatoes, product_in=milk)
        event = record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
        assert set(sites_touched(event)) == {cast.ferrowick, cast.tansy_gate}
        assert unread_changes(cast.tansy_gate)
        assert who(exceptions(cast.tansy_gate, mash)) == {"Ravi": "withhold"}
        assert recompute(before) == before.result_hash

    def test_a_record_at_one_site_s_line_concerns_that_site_alone(
        self, cast: Cast, mash: Recipe, milky: Recipe
    ) -> None:
        """Tansy Gate stirred milk into its own bowl."""
        ServingFactory.create(site=cast.ferrowick, recipe=mash)
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, recipe=mash)
        milk, potatoes = (Product.objects.get(name=name) for name in ("Whole milk", "Potatoes"))
        served = Serving.objects.get(site=cast.tansy_gate, recipe=mash)
        doing = Doing(Deed.SWAP, serving=served, product_out=potatoes, product_in=milk)
        record_event(site=cast.tansy_gate, user=cast.pavel, doing=doing)
        assert who(exceptions(cast.tansy_gate, mash)) == {"Ravi": "withhold"}
        assert who(exceptions(cast.ferrowick, mash)) == {}
