"""Recording what a kitchen did: what is kept, what is refused and why."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from menus.models import Deed, KitchenEvent, Meal, Serving, Surface
from menus.models.facts import FactChanged
from menus.services.kitchen import Doing, record_event, take_back
from tests.cast import Cast
from tests.clock import noon_at
from tests.factories import (
    DeliveryFactory,
    PlanStepFactory,
    ServingFactory,
    SurfaceFactory,
)

pytestmark = pytest.mark.django_db

WASH = "wash_rinse_sanitize"


@pytest.fixture
def slicer(cast: Cast) -> Surface:
    return SurfaceFactory.create(site=noon_at(cast.ferrowick), name="Slicer")


def washed(cast: Cast, slicer: Surface, **more: object) -> KitchenEvent:
    """Greta records a full wash of the slicer."""
    return record_event(
        site=cast.ferrowick,
        user=cast.greta,
        doing=Doing(Deed.CLEAN, surface=slicer, method=WASH),
        **more,  # type: ignore[arg-type]
    )


def test_a_record_says_what_when_and_by_whom(cast: Cast, slicer: Surface) -> None:
    """Now, unless a time is given; and it is never edited."""
    event = washed(cast, slicer)
    assert (event.recorded_by, event.surface, event.method) == (cast.greta, slicer, WASH)
    assert event.happened_at == event.recorded_at
    event.method = "dry_wipe"
    with pytest.raises(FactChanged):
        event.save()


def test_a_record_entered_late_is_marked_so(cast: Cast, slicer: Surface) -> None:
    """XC33 of the scenarios: when it happened decides the order, when it was entered is kept beside it."""
    now = timezone.now()
    assert not washed(cast, slicer, happened_at=now - timedelta(minutes=10)).is_late
    assert washed(cast, slicer, happened_at=now - timedelta(minutes=20)).is_late


@pytest.mark.parametrize(("ago", "said"), [(timedelta(minutes=-2), "lies ahead"), (timedelta(days=15), "days ago")])
def test_a_time_to_come_or_long_gone_is_refused(cast: Cast, slicer: Surface, ago: timedelta, said: str) -> None:
    """Nothing is kept."""
    with pytest.raises(ValidationError, match=said):
        washed(cast, slicer, happened_at=timezone.now() - ago)
    assert not KitchenEvent.objects.exists()


def test_sent_twice_it_is_kept_once(cast: Cast, slicer: Surface) -> None:
    """A tablet that lost the answer sends the record again."""
    token = uuid4()
    assert washed(cast, slicer, token=token) == washed(cast, slicer, token=token)
    assert KitchenEvent.objects.count() == 1


def test_an_unknown_method_is_refused_with_those_that_are_known(cast: Cast, slicer: Surface) -> None:
    """It would clear nothing."""
    with pytest.raises(ValidationError, match=r"no cleaning method.*wash_rinse"):
        record_event(
            site=cast.ferrowick, user=cast.greta, doing=Doing(Deed.CLEAN, surface=slicer, method="a good shake")
        )


def test_what_is_of_another_kitchen_is_refused(cast: Cast, slicer: Surface) -> None:
    """Equipment, dishes, steps, records."""
    strangers = [
        Doing(Deed.CLEAN, surface=SurfaceFactory.create(site=cast.tansy_gate), method=WASH),
        Doing(Deed.USE, surface=slicer, serving=Serving.objects.get(site=cast.tansy_gate)),
        Doing(Deed.CLEAN, surface=slicer, method=WASH, step=PlanStepFactory.create(cleaning=True)),
    ]
    for doing in strangers:
        with pytest.raises(ValidationError, match=r"kitchen|no step of this work"):
            record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
    event = washed(cast, slicer)
    with pytest.raises(ValidationError, match="another kitchen"):
        record_event(site=cast.tansy_gate, user=cast.pavel, doing=Doing(Deed.UNDO), corrects=event)


def test_a_central_kitchen_records_what_it_delivers_and_nothing_else(cast: Cast, slicer: Surface) -> None:
    """Tansy Gate's yogurt cup, once it is delivered."""
    yogurt = Serving.objects.get(site=cast.tansy_gate)
    doing = Doing(Deed.USE, surface=slicer, serving=yogurt)
    with pytest.raises(ValidationError, match="not cooked in this kitchen"):
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
    DeliveryFactory.create(kitchen=cast.ferrowick, site=cast.tansy_gate, meal=Meal.SNACK, recipe=yogurt.recipe)
    assert record_event(site=cast.ferrowick, user=cast.greta, doing=doing).serving == yogurt


def test_a_step_is_recorded_once_a_day(cast: Cast, slicer: Surface) -> None:
    """Two cooks touch the same button; taken back, it can be recorded again."""
    step = PlanStepFactory.create(surface=slicer, at=time(10), cleaning=True)
    doing = Doing(Deed.CLEAN, surface=slicer, method=WASH, step=step)
    event = record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
    with pytest.raises(ValidationError, match="on record already"):
        record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
    take_back(event=event, user=cast.greta)
    assert record_event(site=cast.ferrowick, user=cast.greta, doing=doing).step == step


def test_a_step_of_yesterday_is_another(cast: Cast, slicer: Surface) -> None:
    """A late entry for the day before leaves today's step open."""
    step = PlanStepFactory.create(surface=slicer, at=time(10), cleaning=True)
    doing = Doing(Deed.CLEAN, surface=slicer, method=WASH, step=step)
    yesterday = timezone.now() - timedelta(days=1)
    record_event(site=cast.ferrowick, user=cast.greta, doing=doing, happened_at=yesterday)
    assert record_event(site=cast.ferrowick, user=cast.greta, doing=doing)


class TestTakingBack:
    """Within a minute by a tap, later with a word why; both are kept."""

    def test_within_a_minute(self, cast: Cast, slicer: Surface) -> None:
        """No word is asked for."""
        event = washed(cast, slicer)
        assert take_back(event=event, user=cast.greta).corrects == event
        assert KitchenEvent.objects.count() == 2

    def test_later_only_with_a_word(self, cast: Cast, slicer: Surface, monkeypatch: pytest.MonkeyPatch) -> None:
        """Others may have acted on it."""
        event = washed(cast, slicer)
        later = timezone.now() + timedelta(seconds=61)
        monkeypatch.setattr(timezone, "now", lambda: later)
        with pytest.raises(ValidationError, match="Say what was wrong"):
            take_back(event=event, user=cast.greta, note=" ")
        assert take_back(event=event, user=cast.greta, note="It was the other slicer.").note

    def test_not_twice_and_not_a_taking_back(self, cast: Cast, slicer: Surface) -> None:
        """Each record has one correction at most."""
        event = washed(cast, slicer)
        undone = take_back(event=event, user=cast.greta)
        with pytest.raises(ValidationError, match="corrected already"):
            take_back(event=event, user=cast.greta)
        with pytest.raises(ValidationError, match="only took a record back"):
            take_back(event=undone, user=cast.greta)


def test_leftovers_are_of_an_earlier_day(cast: Cast, slicer: Surface) -> None:
    """Nothing of tomorrow's can be left over."""
    today = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
    ahead = ServingFactory.create(site=cast.ferrowick, date=today.date + timedelta(days=1))
    with pytest.raises(ValidationError, match="cooked later"):
        record_event(site=cast.ferrowick, user=cast.greta, doing=Doing(Deed.LEFTOVER, serving=today, batch=ahead))


@pytest.mark.parametrize(
    "shape",
    [
        {"kind": Deed.USE},
        {"kind": Deed.CLEAN, "method": ""},
        {"kind": Deed.UNDO},
        {"kind": Deed.COVER, "method": WASH},
    ],
)
def test_the_database_refuses_a_record_that_does_not_say_what(cast: Cast, shape: dict[str, object]) -> None:
    """Whoever writes it, by whatever way."""
    now = timezone.now()
    with pytest.raises(IntegrityError, match="kitchen_event"), transaction.atomic():
        KitchenEvent.objects.create(
            site=cast.ferrowick, happened_at=now, recorded_at=now, recorded_by=cast.greta, **shape
        )


def test_the_database_refuses_a_record_of_what_is_to_come(cast: Cast, slicer: Surface) -> None:
    """Recorded before it happened."""
    now = timezone.now()
    ahead: datetime = now + timedelta(minutes=1)
    with pytest.raises(IntegrityError, match="lies_behind"), transaction.atomic():
        KitchenEvent.objects.create(
            site=cast.ferrowick,
            kind=Deed.CLEAN,
            surface=slicer,
            method=WASH,
            happened_at=ahead,
            recorded_at=now,
            recorded_by=cast.greta,
        )
