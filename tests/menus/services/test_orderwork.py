"""The usual order of work changes by rows that give way to rows, and comes back the same way."""

from __future__ import annotations

from copy import copy
from datetime import time

import pytest
from django.core.exceptions import ValidationError

from menus.models import PlanStep
from menus.services.orderwork import change_plan, last_change, restore_plan
from menus.signals import facts_changed
from tests.factories import PlanStepFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


def moved(step: PlanStep, at: time) -> PlanStep:
    """The same step at another time, not saved."""
    row = copy(step)
    row._state.adding = True
    row.pk, row.at = None, at
    return row


def standing(step: PlanStep) -> list[tuple[time, str]]:
    """The rows of the meal that stand."""
    rows = PlanStep.objects.filter(site=step.site, meal=step.meal, withdrawn_at=None)
    return [(row.at, row.action) for row in rows.order_by("at")]


def test_a_step_gives_way_to_another_and_stays_on_record() -> None:
    """From that moment on the new row is the plan; what was due before it was planned as it was then."""
    step = PlanStepFactory(at=time(9, 0))
    moment = change_plan(site=step.site, meal=step.meal, withdraw=[step.pk], write=[moved(step, time(8, 30))])
    assert standing(step) == [(time(8, 30), "use")]
    step.refresh_from_db()
    assert step.withdrawn_at == moment and step.at == time(9, 0)
    assert PlanStep.objects.get(withdrawn_at=None).since == moment == last_change(step.site, step.meal)


def test_the_order_before_comes_back() -> None:
    """Times, equipment and the cleaning that was added: all as before, as new rows."""
    step = PlanStepFactory(at=time(9, 0))
    wash = PlanStepFactory.build(surface=step.surface, site=step.site, cleaning=True, at=time(9, 30))
    moment = change_plan(site=step.site, meal=step.meal, withdraw=[step.pk], write=[moved(step, time(8, 30)), wash])
    assert len(standing(step)) == 2
    restore_plan(site=step.site, meal=step.meal, changed_at=moment)
    assert standing(step) == [(time(9, 0), "use")]
    assert PlanStep.objects.count() == 4


def test_an_addition_alone_is_taken_back_too() -> None:
    """Nothing was withdrawn by the change, and nothing is left of it."""
    step = PlanStepFactory(at=time(9, 0))
    wash = PlanStepFactory.build(surface=step.surface, site=step.site, cleaning=True, at=time(9, 30))
    moment = change_plan(site=step.site, meal=step.meal, withdraw=[], write=[wash])
    restore_plan(site=step.site, meal=step.meal, changed_at=moment)
    assert standing(step) == [(time(9, 0), "use")]


def test_what_was_changed_meanwhile_is_not_changed_again() -> None:
    """The second of two people is told, and nothing is half done."""
    step, other = PlanStepFactory(at=time(9, 0)), PlanStepFactory(at=time(10, 0))
    moment = change_plan(site=step.site, meal=step.meal, withdraw=[step.pk], write=[])
    for wrong in ([step.pk], [step.pk, other.pk], [other.pk]):
        with pytest.raises(ValidationError, match="changed meanwhile"):
            change_plan(site=step.site, meal=step.meal, withdraw=wrong, write=[moved(step, time(8, 0))])
    assert standing(step) == [] and standing(other) == [(time(10, 0), "use")]
    restore_plan(site=step.site, meal=step.meal, changed_at=moment)
    with pytest.raises(ValidationError, match="changed again since"):
        restore_plan(site=step.site, meal=step.meal, changed_at=moment)


def test_a_row_of_another_kitchen_is_refused_with_the_whole_change() -> None:
    """The step that was to give way still stands."""
    step = PlanStepFactory(at=time(9, 0))
    strange = moved(step, time(8, 0))
    strange.surface = SurfaceFactory()
    with pytest.raises(ValidationError, match="not of this meal and this kitchen"):
        change_plan(site=step.site, meal=step.meal, withdraw=[step.pk], write=[strange])
    assert standing(step) == [(time(9, 0), "use")]


def test_nothing_to_change_is_said() -> None:
    """An empty change writes nothing."""
    step = PlanStepFactory()
    with pytest.raises(ValidationError, match="already"):
        change_plan(site=step.site, meal=step.meal, withdraw=[], write=[])


def test_a_change_is_told_once_so_that_menus_are_checked_again() -> None:
    """One signal with a row of that kitchen."""
    step, heard = PlanStepFactory(at=time(9, 0)), []

    def hear(instance: PlanStep, **_: object) -> None:
        heard.append(instance.site)

    facts_changed.connect(hear)
    try:
        change_plan(site=step.site, meal=step.meal, withdraw=[step.pk], write=[moved(step, time(8, 0))])
    finally:
        facts_changed.disconnect(hear)
    assert heard == [step.site]
