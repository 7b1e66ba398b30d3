"""From the stored plan to an order of work, and what it means for children by the service's own check."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.load import load
from compliance.checks.orderplan import OrderOfWork, meal_work, order_of_work
from compliance.checks.orderwork import MealWork
from compliance.rules.values import Outcome
from menus.models import Action, Delivery, Meal, PlanStep, Serving, Surface
from tests.cast import Cast
from tests.factories import PlanStepFactory, ServingFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


def tomorrow() -> date:
    """The day of these tests: everything lies ahead."""
    return timezone.localdate() + timedelta(days=1)


def searched(cast: Cast) -> OrderOfWork:
    """The search for tomorrow's lunch at Ferrowick."""
    return order_of_work(meal_work(cast.ferrowick, tomorrow(), "lunch"), 20)


def use(surface: Surface, recipe: Any, hour: int, minute: int = 0, **more: Any) -> PlanStep:
    """A step of lunch."""
    return PlanStepFactory(surface=surface, recipe=recipe, at=time(hour, minute), **more)


@pytest.fixture
def board(cast: Cast) -> Surface:
    """Tomorrow the peanut sandwich is made on a board, and then the ham and rice."""
    for recipe in (cast.dishes.peanut_sandwich, cast.dishes.ham_and_rice):
        ServingFactory(site=cast.ferrowick, recipe=recipe, date=tomorrow())
    board = SurfaceFactory(site=cast.ferrowick, name="Board", kind=Surface.Kind.BOARD)
    use(board, cast.dishes.peanut_sandwich, 9)
    use(board, cast.dishes.ham_and_rice, 9, 30)
    return board


def covered_first(cast: Cast, board: Surface) -> None:
    """The sandwich is covered at a quarter past nine, so it cannot come later."""
    use(board, cast.dishes.peanut_sandwich, 9, 15, action=Action.COVER)


def test_the_order_spares_those_who_meet_the_dish_by_carry_over_alone(cast: Cast, board: Surface) -> None:
    """Mateo (peanut) and Noor (gluten) get ham and rice if it goes first; Yusuf (pork) does not in any order."""
    found = searched(cast)
    assert {(turn.met.child, turn.met.outcome, turn.other) for turn in found.effect.gone} == {
        (cast.mateo, Outcome.WITHHOLD, Outcome.NONE_FOUND),
        (cast.noor, Outcome.WITHHOLD, Outcome.NONE_FOUND),
    }
    assert found.proposal.today.children == 2 and found.proposal.plan.children == 0 and found.proposal.proven
    assert not found.effect.new and not found.effect.stay
    assert [row.dish for row in found.rows_now] == ["Peanut butter sandwich", "Ham and rice"]
    assert [row.dish for row in found.rows_then] == ["Ham and rice", "Peanut butter sandwich"]
    assert len(found.changes) == 2  # nobody begins earlier or ends later than today


def test_a_cleaning_is_added_where_the_order_must_stay(cast: Cast, board: Surface) -> None:
    """The usual wash of steel, between the two, and nothing else changes."""
    covered_first(cast, board)
    found = searched(cast)
    [added] = found.changes
    assert (added.old, added.surface, added.method) == (None, board.pk, "wash_rinse_sanitize")
    assert time(9, 0) < added.at < time(9, 30)
    assert len(found.effect.gone) == 2


def test_a_wooden_board_is_not_cleaned_between(cast: Cast, board: Surface) -> None:
    """What stays is told, and the present order stands."""
    Surface.objects.update(material=Surface.Material.POROUS)
    covered_first(cast, board)
    found = searched(cast)
    assert found.proposal.kept and not found.changes
    assert {met.child for met in found.effect.stay} == {cast.mateo, cast.noor}


def test_another_board_does_as_well(cast: Cast, board: Surface) -> None:
    """Without a wash, where there is a second one that is kept free of nothing."""
    covered_first(cast, board)
    SurfaceFactory(site=cast.ferrowick, name="Kept", kind=Surface.Kind.BOARD, dedicated_for="gluten")
    SurfaceFactory(site=cast.tansy_gate, name="Elsewhere", kind=Surface.Kind.BOARD)
    assert [change.old for change in searched(cast).changes] == [None]
    second = SurfaceFactory(site=cast.ferrowick, name="Second", kind=Surface.Kind.BOARD)
    [change] = searched(cast).changes
    assert change.old and change.surface == second.pk


def test_a_cleaning_between_goes_with_its_step_and_one_at_the_end_stays(cast: Cast, board: Surface) -> None:
    """The sanitizer after the sandwich goes where the sandwich goes; the wash at noon stays at noon."""
    between = PlanStepFactory(surface=board, cleaning=True, at=time(9, 15), method="sanitize_only")
    end = PlanStepFactory(surface=board, cleaning=True, at=time(12, 0))
    work = meal_work(cast.ferrowick, tomorrow(), "lunch")
    assert [entry.step for entries in work.cleanings.values() for entry in entries] == [between]
    assert [each.cleaning.method for each in work.work.cleanings] == [end.method]
    assert end.pk not in {change.old for change in searched(cast).changes}


def test_another_meals_steps_do_not_move(cast: Cast, board: Surface) -> None:
    """The snack's yogurt on the board at noon is fixed, and counts."""
    ServingFactory(site=cast.ferrowick, recipe=cast.dishes.yogurt_cup, date=tomorrow(), meal=Meal.SNACK)
    snack = PlanStepFactory(surface=board, recipe=cast.dishes.yogurt_cup, meal=Meal.SNACK, at=time(12, 0))
    work = meal_work(cast.ferrowick, tomorrow(), "lunch")
    assert [step.fixed for step in work.work.steps] == [False, False, True]
    assert snack.pk not in {change.old for change in searched(cast).changes}


def test_what_one_dish_needs_at_one_minute_is_one_step(cast: Cast, board: Surface) -> None:
    """Board and hands at nine."""
    hands = SurfaceFactory(site=cast.ferrowick, kind=Surface.Kind.HANDS, material=Surface.Material.HANDS)
    use(hands, cast.dishes.peanut_sandwich, 9)
    first, second = meal_work(cast.ferrowick, tomorrow(), "lunch").work.steps
    assert {need.surfaces for need in first.needs} == {(board.pk,), (hands.pk,)}
    assert len(second.needs) == 1


def test_what_is_done_by_now_does_not_move(cast: Cast) -> None:
    """At ten past nine of the day the sandwich has been on the board; only the rice is still to come."""
    day = timezone.localdate()
    board = SurfaceFactory(site=cast.ferrowick, kind=Surface.Kind.BOARD)
    use(board, cast.dishes.peanut_sandwich, 9)
    rice = use(board, cast.dishes.ham_and_rice, 9, 30)
    now = datetime.combine(day, time(9, 10), cast.ferrowick.zone)
    work = MealWork(load(cast.ferrowick, day, day, now), cast.ferrowick, day, "lunch", day)
    assert [entry.step for entries in work.steps.values() for entry in entries] == [rice]
    assert work.start == datetime.combine(day, time(9, 30), cast.ferrowick.zone)
    assert f"{MealWork(work.facts, work.site, day, 'lunch', day, now).start:%H:%M}" == "09:11"


def test_children_of_another_site_count_for_what_is_cooked_for_them(cast: Cast) -> None:
    """Ferrowick cooks the rice for Tansy Gate; Ravi there avoids milk, as Anneke does here."""
    Delivery.objects.create(
        kitchen=cast.ferrowick, site=cast.tansy_gate, meal=Meal.LUNCH, recipe=cast.dishes.ham_and_rice
    )
    for site in (cast.ferrowick, cast.tansy_gate):
        ServingFactory(site=site, recipe=cast.dishes.ham_and_rice, date=tomorrow())
    ServingFactory(site=cast.ferrowick, recipe=cast.dishes.yogurt_cup, date=tomorrow())
    board = SurfaceFactory(site=cast.ferrowick, kind=Surface.Kind.BOARD)
    use(board, cast.dishes.yogurt_cup, 9)
    use(board, cast.dishes.ham_and_rice, 9, 30)
    found = searched(cast)
    assert found.proposal.today.children == 2
    assert {turn.met.child for turn in found.effect.gone} == {cast.anneke, cast.ravi}


def test_a_kitchen_without_a_plan_has_nothing_to_order(cast: Cast) -> None:
    """No step, no search."""
    work = meal_work(cast.ferrowick, tomorrow(), "lunch")
    assert not work.steps and not Serving.objects.filter(date=tomorrow()).exists()
