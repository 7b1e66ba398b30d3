"""A kitchen's day on its page: the picture, what carries over, the records, and who hears of it."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from compliance.checks.night import check_and_tell
from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Deed, KitchenEvent, PlanStep, Serving, Surface
from menus.services.kitchen import Doing, record_event
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
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

RECORD = "/kitchen/day/record/"


@pytest.fixture
def slicer(cast: Cast) -> Surface:
    """Peanut sandwich at ten, a wash planned at half past, ham and rice at eleven; now it is past noon."""
    slicer = SurfaceFactory.create(site=noon_at(cast.ferrowick), name="Slicer")
    PlanStepFactory.create(surface=slicer, at=time(10), recipe=cast.dishes.peanut_sandwich)
    PlanStepFactory.create(surface=slicer, at=time(10, 30), cleaning=True)
    PlanStepFactory.create(surface=slicer, at=time(11), recipe=cast.dishes.ham_and_rice)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    return slicer


def wash(slicer: Surface) -> dict[str, object]:
    """What the button under the planned wash sends."""
    step = PlanStep.objects.get(surface=slicer, action="clean")
    return {"kind": "clean", "surface": slicer.pk, "step": step.pk, "method": step.method, "token": uuid4()}


def test_the_picture_shows_dishes_cleanings_and_what_carries_over(cast: Cast, slicer: Surface) -> None:
    """As drawing, and the same in words below: each arrow and each bar leads to its words."""
    page = soup(as_user(cast.greta).get("/kitchen/day/"))
    drawing = page.select_one("svg")
    assert drawing and drawing.select_one("title") and drawing.select_one("desc")
    assert [bar.get_text(" ", strip=True) for bar in drawing.select(".bar")] == [
        "Peanut butter sandwich",
        "no record: not cleaned",
        "Ham and rice",
    ]
    arrow = drawing.select_one(".arrow-withhold")
    assert arrow and "peanut" in arrow.get_text()
    assert all(page.select_one(link["href"]) for link in drawing.select("a")), "every link leads somewhere"
    said = page.select_one(arrow["href"])
    assert said and "Mateo" in said.get_text() and "Slicer" in said.get_text()


def test_a_cleaning_on_record_breaks_the_line_and_ends_the_arrow(cast: Cast, slicer: Surface) -> None:
    """By two taps: the planned wash, and that it was done when planned."""
    greta = as_user(cast.greta)
    answer = greta.post(RECORD, {**wash(slicer), "at": "10:30"}, follow=True)
    assert "Recorded: Cleaned, Slicer, 10:30" in words(answer)
    event = KitchenEvent.objects.get()
    assert event.happened_at.astimezone(cast.ferrowick.zone).time() == time(10, 30)
    page = soup(answer)
    assert not page.select(".arrow")
    assert page.select_one(".bar-clean.bar-recorded")
    assert "Entered late" in page.get_text()


def test_what_the_plan_wants_and_nobody_recorded_is_asked_for(cast: Cast, slicer: Surface) -> None:
    """Once recorded it is asked for no more."""
    greta = as_user(cast.greta)
    assert "It counts as not done." in words(greta.get("/kitchen/day/"))
    greta.post(RECORD, {**wash(slicer), "at": "10:30"})
    assert "Not on record" not in words(greta.get("/kitchen/day/"))


def test_a_method_that_does_not_work_is_kept_and_said_not_to(cast: Cast, slicer: Surface) -> None:
    """Sanitizer is no cleaning."""
    answer = as_user(cast.greta).post(RECORD, {**wash(slicer), "method": "sanitize_only"}, follow=True)
    assert "takes no allergen off Slicer" in words(answer)
    assert soup(answer).select(".arrow-withhold")


def test_oil_is_changed_and_not_washed(cast: Cast, slicer: Surface) -> None:
    """The one tap of a fryer is its change; a toaster has none."""
    SurfaceFactory.create(site=cast.ferrowick, name="Fryer", kind="fryer", material="fryer_oil")
    SurfaceFactory.create(site=cast.ferrowick, name="Toaster", kind="toaster", material="unwashable")
    page = soup(as_user(cast.greta).get("/kitchen/day/"))
    fryer, toaster = (
        next(block for block in page.select(".surface") if name in block.h3.get_text())  # type: ignore[union-attr]
        for name in ("Fryer", "Toaster")
    )
    tap = fryer.select_one("button.large")
    assert tap and (tap["value"], tap.get_text()) == ("oil_change_and_vat_wash", "Oil changed now")
    assert "takes no allergen off this" in fryer.get_text(), "filtering stands among the ways that do not work"
    assert not toaster.select("button") and "No cleaning takes allergens off this" in toaster.get_text()


def test_equipment_that_is_kept_free_of_something_and_met_it_is_told(cast: Cast, slicer: Surface) -> None:
    """XC14 of the scenarios: a slip with the board that is kept for one kind of food."""
    greta = as_user(cast.greta)
    assert "To look at" not in words(greta.get("/kitchen/day/"))
    Surface.objects.filter(pk=slicer.pk).update(dedicated_for="peanut")
    page = soup(greta.get("/kitchen/day/"))
    told = page.select_one("section:has(#alerts)")
    assert told and "Slicer" in told.get_text() and "Peanut butter sandwich" in told.get_text()
    assert "Kept free of peanut" in page.get_text()


def test_a_record_is_taken_back_by_a_tap_within_a_minute(cast: Cast, slicer: Surface) -> None:
    """It stays on the list, struck out, and counts no more."""
    greta = as_user(cast.greta)
    shown = soup(greta.post(RECORD, {**wash(slicer), "at": "10:30"}, follow=True))
    form = shown.select_one("form.undo")
    assert form
    answer = greta.post(form["action"], follow=True)
    assert "Taken back" in words(answer)
    page = soup(answer)
    assert page.select_one("#records ~ ol s") and page.select(".arrow-withhold")
    assert not page.select("form.undo")


def test_after_a_minute_a_word_is_wanted(cast: Cast, slicer: Surface, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page then offers a field for it."""
    greta = as_user(cast.greta)
    greta.post(RECORD, {**wash(slicer), "at": "10:30"})
    event = KitchenEvent.objects.get()
    later = timezone.now() + timedelta(minutes=2)
    monkeypatch.setattr(timezone, "now", lambda: later)
    assert not soup(greta.get("/kitchen/day/")).select("form.undo")
    assert "Say what was wrong" in words(greta.post(f"/kitchen/day/records/{event.pk}/undo/", follow=True))
    assert "Taken back" in words(
        greta.post(f"/kitchen/day/records/{event.pk}/undo/", {"note": "Wrong slicer"}, follow=True)
    )


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"at": "25:99"}, "This is no time of day"),
        ({"at": "23:59"}, "lies ahead"),
        ({"method": "a good shake"}, "Nothing was recorded."),
        ({"surface": "99999"}, "Nothing was recorded."),
        ({"kind": "bless"}, "Nothing was recorded."),
        ({"surface": ""}, "does not name what a record of its kind names"),
    ],
)
def test_what_cannot_be_recorded_is_said(cast: Cast, slicer: Surface, sent: dict[str, str], said: str) -> None:
    """And nothing is kept."""
    answer = as_user(cast.greta).post(RECORD, {**wash(slicer), "step": "", **sent}, follow=True)
    assert said in words(answer)
    assert not KitchenEvent.objects.exists()


def test_a_record_that_waited_for_the_connection_keeps_its_time(cast: Cast, slicer: Surface) -> None:
    """It is sent ten minutes later, and again because the answer was lost: kept once, as of the tap."""
    greta, sent = as_user(cast.greta), {**wash(slicer), "waited": "600"}
    greta.post(RECORD, sent)
    greta.post(RECORD, sent)
    event = KitchenEvent.objects.get()
    assert event.recorded_at - event.happened_at == pytest.approx(timedelta(minutes=10), abs=timedelta(seconds=5))


def test_others_look_and_do_not_record(cast: Cast, slicer: Surface) -> None:
    """Licensed staff and administrators see the day without its buttons; a teacher does not see it."""
    for user in (cast.hakim, cast.june):
        page = soup(as_user(user).get("/kitchen/day/?site=ferrowick"))
        assert page.select("svg") and not page.select("main form[action*=record]")
        assert as_user(user).post(f"{RECORD}?site=ferrowick", wash(slicer)).status_code == 404
    assert as_user(cast.rosa).get("/kitchen/day/").status_code == 404
    assert as_user(cast.pavel).post(f"{RECORD}?site=ferrowick", wash(slicer)).status_code == 404
    assert not KitchenEvent.objects.exists()


def test_days_ahead_are_shown_and_not_recorded(cast: Cast, slicer: Surface) -> None:
    """Nobody records what is to come; and a dish that was not checked does not look like one of no concern."""
    tomorrow = timezone.localdate() + timedelta(days=1)
    ServingFactory.create(site=cast.ferrowick, recipe=cast.dishes.peanut_sandwich, date=tomorrow)
    greta, told = as_user(cast.greta), "Not checked yet: nothing is known of this dish"
    page = soup(greta.get(f"/kitchen/day/?day={tomorrow}"))
    assert page.select("svg .bar") and not page.select("main form[action*=record]")
    assert told in " ".join(page.get_text(" ").split()) and told not in words(greta.get("/kitchen/day/"))


def test_the_central_kitchen_counts_the_children_of_others_without_naming_them(cast: Cast, slicer: Surface) -> None:
    """Greta's slicer carries milk to Tansy Gate's snack; she is told that a child there is concerned, and not who."""
    noon_at(cast.tansy_gate)
    apple = labelled("apples", name="Apples")
    slices = cooked("Apple slices", apple)
    ServingFactory.create(site=cast.tansy_gate, recipe=slices)
    PlanStepFactory.create(surface=slicer, at=time(11, 30), recipe=cast.dishes.yogurt_cup, meal="snack")
    PlanStepFactory.create(surface=slicer, at=time(11, 45), recipe=slices)
    for meal, recipe in (("snack", cast.dishes.yogurt_cup), ("lunch", slices)):
        DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, meal=meal, recipe=recipe)
    check_site(site=cast.tansy_gate, trigger=Run.Trigger.HAND)
    said = words(as_user(cast.greta).get("/kitchen/day/"))
    assert "Do not serve Apple slices to: 1 child at Tansy Gate Daycare" in said
    assert "Ravi" not in said
    assert "Ravi" in words(as_user(cast.hakim).get("/kitchen/day/?site=ferrowick"))


class TestNews:
    """What becomes an exception today reaches those who must know."""

    @pytest.fixture
    def swapped(self, cast: Cast, slicer: Surface) -> KitchenEvent:
        """Out of rice; peanuts instead."""
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        nuts = labelled("peanuts, cashews", name="Nut mix")
        doing = Doing(Deed.SWAP, serving=served, product_out=cast.larder.rice, product_in=nuts)
        event = record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        return event

    @pytest.mark.parametrize(
        ("who", "address"),
        [
            ("greta", "/kitchen/day/"),
            ("hakim", "/kitchen/day/?site=ferrowick"),
            ("rosa", "/today/"),
            ("hakim", "/today/"),
        ],
    )
    def test_it_stands_at_the_head_of_their_pages(
        self, cast: Cast, swapped: KitchenEvent, who: str, address: str
    ) -> None:
        """Ifeoma meets cashew since the swap."""
        block = soup(as_user(getattr(cast, who)).get(address)).select_one(".announced")
        assert block and "Ifeoma" in block.get_text() and "Ham and rice" in block.get_text()

    def test_nobody_else_hears_of_it(self, cast: Cast, swapped: KitchenEvent) -> None:
        """Tansy Gate's teacher and cook have nothing to do with it."""
        for who, address in (("dmitri", "/today/"), ("pavel", "/kitchen/day/")):
            assert "Ifeoma" not in words(as_user(getattr(cast, who)).get(address))

    def test_the_page_asks_again_and_again(self, cast: Cast, slicer: Surface) -> None:
        """First that a check is under way, then that there is something newer to see."""
        greta = as_user(cast.greta)
        shown = soup(greta.get("/kitchen/day/")).select_one("#news")
        assert shown
        greta.post(RECORD, {**wash(slicer), "at": "10:30"})
        assert "Being checked again" in greta.get(shown["hx-get"]).content.decode()
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        assert "Show the day as it is now" in greta.get(shown["hx-get"]).content.decode()


class TestDish:
    """Products swapped and leftovers, on the page of the dish."""

    def test_what_a_kitchen_would_reach_for_is_one_tap(self, cast: Cast, slicer: Surface) -> None:
        """Products with names like the one that ran out."""
        brown = labelled("brown rice", name="Rice, brown")
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        greta = as_user(cast.greta)
        page = soup(greta.get(f"/kitchen/dishes/{served.pk}/"))
        button = page.find("button", string="Rice, brown")
        assert button and button["value"] == str(brown.pk)
        out = cast.larder.rice
        answer = greta.post(
            f"/kitchen/dishes/{served.pk}/", {"product_out": out.pk, "product_in": brown.pk}, follow=True
        )
        assert "Recorded: Rice, brown in place of Rice." in words(answer)
        event = KitchenEvent.objects.get()
        assert (event.kind, event.product_out, event.product_in, event.whole) == (Deed.SWAP, out, brown, False)

    def test_a_product_without_a_label_is_asked_for_it(self, cast: Cast, slicer: Surface) -> None:
        """With the way to record it."""
        unknown = ProductFactory.create(name="Rice of another make")
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        sent = {"product_out": cast.larder.rice.pk, "product_in": unknown.pk}
        answer = as_user(cast.greta).post(f"/kitchen/dishes/{served.pk}/", sent, follow=True)
        assert "No label of Rice of another make is on record" in words(answer)
        assert soup(answer).select_one(f"a[href='/products/{unknown.pk}/label/']")

    @pytest.mark.parametrize(
        ("out", "into", "said"),
        [
            ("yogurt", "bread", "This dish does not hold that product."),
            ("rice", "rice", "That is the same product."),
            ("rice", "", "Choose what was used in its place."),
        ],
    )
    def test_a_swap_that_makes_no_sense_is_refused(
        self, cast: Cast, slicer: Surface, out: str, into: str, said: str
    ) -> None:
        """What was chosen is still there."""
        served = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        larder = cast.larder
        sent = {"product_out": getattr(larder, out).pk, "product_in": getattr(larder, into).pk if into else ""}
        answer = as_user(cast.greta).post(f"/kitchen/dishes/{served.pk}/", sent)
        assert said in words(answer)
        assert not KitchenEvent.objects.exists()

    def test_leftovers_of_an_earlier_day(self, cast: Cast, slicer: Surface) -> None:
        """The same dish comes first; a later batch is not offered."""
        today = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
        before = ServingFactory.create(site=cast.ferrowick, recipe=today.recipe, date=today.date - timedelta(days=1))
        other = ServingFactory.create(site=cast.ferrowick, date=today.date - timedelta(days=1))
        after = ServingFactory.create(site=cast.ferrowick, date=today.date + timedelta(days=1))
        greta, address = as_user(cast.greta), f"/kitchen/dishes/{today.pk}/"
        offered = [option["value"] for option in soup(greta.get(address)).select("#left-batch option")]
        assert offered[:3] == ["", str(before.pk), str(other.pk)] and str(after.pk) not in offered
        assert "Recorded: leftovers of" in words(greta.post(address, {"batch": before.pk}, follow=True))
        assert KitchenEvent.objects.get().batch == before

    def test_a_dish_of_another_kitchen_is_not_found(self, cast: Cast, slicer: Surface) -> None:
        """Tansy Gate's yogurt is none of Greta's."""
        yogurt = Serving.objects.get(site=cast.tansy_gate)
        assert as_user(cast.greta).get(f"/kitchen/dishes/{yogurt.pk}/").status_code == 404


def test_queries_do_not_grow_with_the_day(cast: Cast, slicer: Surface) -> None:
    """Twenty more records and ten more pieces of equipment cost no query more."""
    greta = as_user(cast.greta)
    before = queries(lambda: greta.get("/kitchen/day/"))
    now = timezone.now()
    for number in range(10):
        more = SurfaceFactory.create(site=cast.ferrowick)
        PlanStepFactory.create(surface=more, at=time(9, number), recipe=cast.dishes.oat_bar)
        for minute in range(2):
            record_event(
                site=cast.ferrowick,
                user=cast.greta,
                doing=Doing(Deed.CLEAN, surface=more, method="wash_rinse"),
                happened_at=now - timedelta(minutes=minute),
            )
    assert queries(lambda: greta.get("/kitchen/day/")) == before


def test_the_day_is_the_kitchen_s(cast: Cast, slicer: Surface) -> None:
    """A record of last evening is not of today."""
    last_evening = datetime.combine(timezone.localdate() - timedelta(days=1), time(20), cast.ferrowick.zone)
    doing = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse")
    event = record_event(site=cast.ferrowick, user=cast.greta, doing=doing, happened_at=last_evening)
    greta = as_user(cast.greta)
    assert f"record-{event.pk}" not in greta.get("/kitchen/day/").content.decode()
    assert f"record-{event.pk}" in greta.get(f"/kitchen/day/?day={last_evening:%Y-%m-%d}").content.decode()
