"""What an order of work that is proposed keeps to, and what it says of itself."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic
from typing import Any

import pytest

from menus.kitchen.carryover import carry_over
from menus.kitchen.events import Contact, Use
from menus.planning.decode import today
from menus.planning.faults import Unworkable
from menus.planning.plan import Plan, Washed
from menus.planning.propose import propose
from menus.planning.sound import unsound
from menus.planning.work import Cleaning, CleaningAt, Work
from tests.menus.planning.kitchens import at, dish, oil, stake, steel, step, wood, work

SATAY, RICE, SALAD = 1, 2, 3
MIXER, BOARD, FRYER = 1, 2, 3


def peanut_first(*, until: int = 120, **more: Any) -> Work:
    """Today the satay goes through the mixer before the rice; three children who may not have peanut eat rice."""
    return work(
        [steel(MIXER)],
        {SATAY: dish(SATAY, "peanut"), RICE: dish(RICE)},
        [step(10, SATAY, 0, MIXER), step(20, RICE, 10, MIXER)],
        [stake(RICE, "peanut", children=3)],
        until=until,
        **more,
    )


def order(plan: Plan) -> list[int]:
    """The steps' numbers in the order of their times."""
    return [each.step for each in plan.steps]


def test_the_dish_that_others_may_have_goes_first() -> None:
    """The other way round nobody meets peanut, and no cleaning is needed: proven."""
    proposal = propose(peanut_first(), 10)
    assert proposal.today.children == 3 and not proposal.kept
    assert order(proposal.plan) == [20, 10]
    assert proposal.plan.children == 0 and not proposal.plan.cleanings and proposal.proven


def test_a_cleaning_is_added_where_the_order_must_stay() -> None:
    """The rice needs the satay's step done; the wash comes between, and says what it keeps away for how many."""
    made = peanut_first()
    made = replace(made, steps=(made.steps[0], replace(made.steps[1], after=(10,))))
    plan = propose(made, 10).plan
    [washed] = plan.cleanings
    assert order(plan) == [10, 20] and plan.children == 0
    assert (washed.surface, washed.method, washed.added) == (MIXER, "wash_rinse_sanitize", True)
    first, second = plan.steps
    assert first.end <= washed.at and (second.at - washed.at).total_seconds() >= 600
    assert [(each.residue, each.dish, each.children) for each in washed.why] == [(("peanut",), RICE, 3)]


@pytest.mark.parametrize(("station", "left"), [(wood(MIXER), 3), (oil(MIXER), 3), (steel(MIXER), 0)])
def test_neither_wood_nor_oil_comes_clean_between_two_dishes(station, left: int) -> None:
    """No cleaning is proposed for what none makes clean; the carry-over that stays is told."""
    made = peanut_first()
    made = replace(made, stations={MIXER: station}, steps=(made.steps[0], replace(made.steps[1], after=(10,))))
    plan = propose(made, 10).plan
    assert plan.children == left
    assert bool(plan.cleanings) is (left == 0)
    assert [(each.dish, each.residues, each.children) for each in plan.carried] == (
        [(RICE, frozenset({("peanut",)}), 3)] if left else []
    )


def test_a_chain_over_two_things_counts() -> None:
    """The salad never meets the satay, only the board that the sauce came to from the mixer."""
    sauce = 4
    made = work(
        [steel(MIXER, cleaning=None), steel(BOARD, cleaning=None)],
        {SATAY: dish(SATAY, "peanut"), sauce: dish(sauce), SALAD: dish(SALAD)},
        [
            step(1, SATAY, 0, MIXER),
            step(2, sauce, 10, MIXER),
            step(3, sauce, 20, BOARD),
            step(4, SALAD, 30, BOARD),
        ],
        [stake(SALAD, "peanut", children=2)],
    )
    proposal = propose(made, 10)
    assert [each.dish for each in proposal.today.carried] == [SALAD]
    assert proposal.plan.children == 0
    assert proposal.levels[2].value == 1  # the satay goes later, and nothing else changes


def test_other_equipment_is_taken_where_it_helps() -> None:
    """The rice has to come after the satay; a second mixer spares the wash."""
    made = peanut_first()
    rice = step(20, RICE, 10, (MIXER, BOARD), after=(10,))
    made = replace(made, stations={**made.stations, BOARD: steel(BOARD)}, steps=(made.steps[0], rice))
    plan = propose(made, 10).plan
    assert plan.children == 0 and not plan.cleanings
    assert [each.surfaces for each in plan.steps] == [(MIXER,), (BOARD,)]


def test_children_are_counted_once_for_each_dish() -> None:
    """Who avoids two things that both arrive is one child; two dishes are two meals that a child does not get."""
    made = work(
        [wood(BOARD)],
        {SATAY: dish(SATAY, "peanut", "soy"), RICE: dish(RICE), SALAD: dish(SALAD)},
        [step(1, SATAY, 0, BOARD), step(2, RICE, 10, BOARD, after=(1,)), step(3, SALAD, 20, BOARD, after=(1,))],
        [stake(RICE, "peanut", "soy"), stake(SALAD, "peanut", "soy")],
    )
    assert propose(made, 10).today.children == 2


def test_more_children_weigh_more_than_fewer_cleanings() -> None:
    """Each of two dishes carries what the other's children avoid, on wood: the smaller number meets it."""
    made = work(
        [wood(BOARD)],
        {SATAY: dish(SATAY, "peanut"), RICE: dish(RICE, "milk")},
        [step(1, SATAY, 0, BOARD), step(2, RICE, 10, BOARD)],
        [stake(SATAY, "milk", children=1), stake(RICE, "peanut", children=2)],
    )
    proposal = propose(made, 10)
    assert (proposal.today.children, proposal.plan.children) == (2, 1)
    assert proposal.proven


def test_what_lay_there_before_is_washed_off_or_spared() -> None:
    """Yesterday's satay on the mixer: a wash before the rice, whatever the order."""
    yesterday = 9
    made = peanut_first(before=(Use(at(-30), MIXER, yesterday),))
    made = replace(made, dishes={**made.dishes, yesterday: dish(yesterday, "peanut")}, start=at(-20))
    plan = propose(made, 10).plan
    assert order(plan) == [20, 10] and plan.children == 0
    assert [each.at < plan.steps[0].at for each in plan.cleanings] == [True]


def test_what_was_carried_over_before_stays() -> None:
    """The rice met the satay before the work began: no order mends that, and what it leaves behind counts too."""
    made = peanut_first(before=(Use(at(-30), MIXER, SATAY), Use(at(-20), MIXER, RICE)))
    salad = step(30, SALAD, 30, BOARD, after=(40,))
    made = replace(
        made,
        start=at(-10),
        stations={**made.stations, BOARD: wood(BOARD)},
        dishes={**made.dishes, SALAD: dish(SALAD)},
        steps=(*made.steps, step(40, RICE, 20, BOARD), salad),
        stakes=(*made.stakes, stake(SALAD, "peanut")),
    )
    proposal = propose(made, 10)
    assert proposal.plan.children == 4 and proposal.proven


def test_another_meals_steps_stay_where_they_are() -> None:
    """Breakfast's step at five past is fixed; the rice goes before it or after a wash, never into it."""
    porridge = 7
    made = peanut_first()
    fixed = step(30, porridge, 5, MIXER, fixed=True)
    made = replace(made, dishes={**made.dishes, porridge: dish(porridge)}, steps=(*made.steps, fixed))
    plan = propose(made, 10).plan
    assert plan.children == 0
    assert all(each.step != 30 and (each.end <= at(5) or each.at >= at(15)) for each in plan.steps)


def test_another_meals_steps_may_overlap_as_they_do() -> None:
    """Two steps of the porridge run into each other on the plan; that is not this meal's to mend."""
    porridge = 7
    made = peanut_first()
    steps = (step(30, porridge, 60, MIXER, fixed=True), step(31, porridge, 65, MIXER, fixed=True))
    made = replace(made, dishes={**made.dishes, porridge: dish(porridge)}, steps=(*made.steps, *steps))
    assert propose(made, 10).plan.children == 0


def test_a_cleaning_of_today_stays_after_its_step() -> None:
    """It may be there for another reason than an allergen, so it goes along with its step and is never dropped."""
    made = peanut_first()
    satay = step(10, SATAY, 0, MIXER, cleaned={MIXER: "sanitize_only"})
    plan = propose(replace(made, steps=(satay, made.steps[1])), 10).plan
    [kept] = plan.cleanings
    [after] = (each for each in plan.steps if each.step == 10)
    assert (kept.method, kept.added, kept.at) == ("sanitize_only", False, after.end)


def test_a_cleaning_of_today_keeps_its_time_where_it_can() -> None:
    """The satay goes to the end of the morning; the wash after the rice has no reason to move."""
    made = peanut_first()
    rice = step(20, RICE, 10, MIXER, cleaned={MIXER: "wash_rinse"})
    salad = step(30, SALAD, 60, MIXER)
    made = replace(made, dishes={**made.dishes, SALAD: dish(SALAD)}, steps=(made.steps[0], rice, salad))
    satay = replace(made.steps[0], after=(30,))
    [washed] = propose(replace(made, steps=(satay, rice, salad)), 10).plan.cleanings
    assert washed.at == at(20)


def test_a_cleaning_that_stands_at_its_time_counts() -> None:
    """A wash at ten past that is not ours: the rice after it costs no cleaning of its own."""
    made = peanut_first(cleanings=(CleaningAt(at(10), MIXER, Cleaning("wash_rinse", 10)),))
    made = replace(made, steps=(made.steps[0], replace(made.steps[1], after=(10,))))
    plan = propose(made, 10).plan
    assert plan.children == 0 and not plan.cleanings
    assert plan.steps[1].at >= at(20)


def test_what_takes_two_at_once_may_take_two_and_they_touch() -> None:
    """In twenty minutes only two rounds fit, of two dishes each: the two with peanut go together."""
    dishes = {1: dish(1, "peanut"), 2: dish(2), 3: dish(3, "peanut"), 4: dish(4)}
    made = work(
        [steel(MIXER, capacity=2)],
        dishes,
        [step(each, each, 10 * each - 10, MIXER) for each in dishes],
        [stake(2, "peanut"), stake(4, "peanut")],
        until=20,
    )
    plan = propose(made, 10).plan
    assert plan.children == 0
    begun = {each.step: each.at for each in plan.steps}
    assert begun[2] == begun[4] < begun[1] == begun[3]


def test_a_dish_is_ready_when_it_is_due() -> None:
    """The satay must be ready at ten past, so it stays first and the wash comes after it."""
    made = replace(peanut_first(), due={SATAY: at(10)})
    plan = propose(made, 10).plan
    assert order(plan) == [10, 20] and len(plan.cleanings) == 1


def test_nothing_to_gain_leaves_today_as_it_is() -> None:
    """No child is at stake: the order proposed is today's, to the minute."""
    made = replace(peanut_first(), stakes=())
    proposal = propose(made, 10)
    assert proposal.kept and proposal.plan == proposal.today and proposal.proven


def test_a_step_that_gains_nothing_does_not_move() -> None:
    """A third dish on a surface of its own keeps its time."""
    made = peanut_first()
    made = replace(
        made,
        stations={**made.stations, BOARD: steel(BOARD)},
        dishes={**made.dishes, SALAD: dish(SALAD)},
        steps=(*made.steps, step(30, SALAD, 35, BOARD)),
    )
    plan = propose(made, 10).plan
    assert [each.at for each in plan.steps if each.step == 30] == [at(35)]


def test_a_deadline_that_no_order_meets_is_said_with_the_earliest_end() -> None:
    """Two steps of ten minutes on one mixer do not end in fifteen."""
    with pytest.raises(Unworkable, match=r"2 steps .* ends by 07:15\. The earliest end found is 07:20"):
        propose(peanut_first(until=15), 10)


def test_today_is_no_choice_where_it_ends_too_late() -> None:
    """A second mixer lets the work end in time; that the order of today cannot."""
    made = replace(peanut_first(until=15), stakes=())
    rice = step(20, RICE, 10, (MIXER, BOARD))
    proposal = propose(replace(made, stations={**made.stations, BOARD: steel(BOARD)}, steps=(made.steps[0], rice)), 10)
    assert not proposal.kept and all(each.end <= at(15) for each in proposal.plan.steps)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"deadline": at(-1)}, "before it begins"),
        ({"steps": (step(1, 99, 0, MIXER),)}, "dish 99, which is not there"),
        ({"steps": (step(1, RICE, 0, 99),)}, "surface 99, which is not there"),
        ({"steps": (step(1, RICE, 0),)}, "names nothing that it works on"),
        ({"steps": (step(1, RICE, 0, MIXER, minutes=0),)}, "takes 0 minutes"),
        ({"steps": (step(1, RICE, 0, MIXER, after=(7,)),)}, "after step 7, which is not there"),
        ({"steps": (step(1, RICE, 0, MIXER), step(2, RICE, 0, MIXER))}, "two steps at 07:00"),
        ({"steps": (step(1, RICE, 0, MIXER, after=(2,)), step(2, RICE, 5, MIXER))}, "come after itself"),
        ({"steps": (step(1, RICE, 0, MIXER, minutes=200),)}, "one after the other, need 200"),
        ({"stations": {MIXER: steel(MIXER, capacity=0)}}, "takes 0 dishes at once"),
        ({"stations": {MIXER: steel(MIXER, cleaning=Cleaning("dry_wipe", 5))}}, "does not remove allergens"),
    ],
)
def test_what_cannot_be_planned_is_said_in_a_sentence(change: dict[str, Any], said: str) -> None:
    """What is wrong and how to mend it."""
    with pytest.raises(Unworkable, match=said) as caught:
        propose(replace(peanut_first(), **change), 10)
    assert str(caught.value).endswith(".")


def test_what_the_search_does_not_follow_is_left_to_the_engine() -> None:
    """A ladle touches the mixer and the board: the engine sees the way of the peanut, and its count is what is told."""
    made = work(
        [steel(MIXER, cleaning=None), steel(BOARD, cleaning=None)],
        {SATAY: dish(SATAY, "peanut"), RICE: dish(RICE)},
        [step(1, SATAY, 0, MIXER), step(2, RICE, 30, BOARD)],
        [stake(RICE, "peanut")],
        until=60,
        others=(Contact(at(20), MIXER, BOARD),),
    )
    proposal = propose(made, 10)
    assert proposal.today.children == 1
    surfaces = {number: station.facts for number, station in made.stations.items()}
    after = carry_over([*proposal.plan.events, *made.others], surfaces, made.dishes)
    assert proposal.plan.children == (len(after[RICE]) > 0)


def test_the_same_work_gives_the_same_answer() -> None:
    """One thread and a fixed seed."""
    made = crowded()
    assert propose(made, 30) == propose(made, 30)


def crowded(dishes: int = 6) -> Work:
    """Every dish carries what the next one's children avoid, twice over the same three surfaces."""
    codes = ("milk", "egg", "wheat", "peanut", "soy", "sesame")
    held = {each: dish(each, codes[each % 6]) for each in range(dishes)}
    steps = [
        step(round_ * dishes + each, each, 10 * (round_ * dishes + each), (each + round_) % 3, minutes=10)
        for round_ in range(2)
        for each in range(dishes)
    ]
    stakes = [
        stake(each, codes[(each + gap) % 6], children=1 + each % 3)
        for each in range(dishes)
        for gap in (1, 2, 5)
        if (each + gap) % 6 != each % 6
    ]
    return work([wood(0), steel(1), steel(2)], held, steps, stakes, until=20 * dishes)


def test_the_time_given_is_kept_and_the_gap_told() -> None:
    """Too little time for forty-eight steps: what comes back is no worse than today, and says what is not proven."""
    made = crowded(24)
    begun = monotonic()
    proposal = propose(made, 1.0)
    assert monotonic() - begun < 20  # building the program and asking the engine take their time too
    assert proposal.plan.children <= proposal.today.children
    assert not proposal.proven
    assert all(level.bound <= level.value for level in proposal.levels)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"steps": ()}, "Step 10 is not in the plan"),
        ({"move": {10: at(-5)}}, "outside the time given"),
        ({"move": {10: at(115)}}, "outside the time given"),
        ({"move": {20: at(5)}}, "Steel 1 is not free yet"),
        ({"move": {20: at(0)}}, "2 dishes begin on Steel 1"),
        ({"place": {10: (BOARD,)}}, "is not on what it needs"),
        ({"place": {10: ()}}, "is not on what it needs"),
        ({"wash": at(5)}, "in use while it is cleaned"),
    ],
)
def test_a_plan_that_cannot_be_done_is_found_out(change: dict[str, Any], said: str) -> None:
    """What the search is to keep to is looked at again from the result."""
    made = peanut_first()
    plan = today(made)
    assert not unsound(made, plan)
    steps = tuple(
        replace(
            each,
            at=change.get("move", {}).get(each.step, each.at),
            surfaces=change.get("place", {}).get(each.step, each.surfaces),
        )
        for each in change.get("steps", plan.steps)
    )
    washed = (Washed(MIXER, "wash_rinse", change["wash"], 10),) if "wash" in change else ()
    assert said in " ".join(unsound(made, replace(plan, steps=steps, cleanings=washed)))


def test_a_step_before_the_one_it_waits_for_is_found_out() -> None:
    """By its own list, and by the order of its dish."""
    made = peanut_first()
    waiting = replace(made, steps=(replace(made.steps[0], after=(20,)), made.steps[1]))
    assert "begins before step 20 has ended" in " ".join(unsound(waiting, today(waiting)))
    again = replace(made, steps=(*made.steps, step(30, SATAY, 30, MIXER)))
    plan = today(again)
    early = tuple(replace(each, at=at(50)) if each.step == 10 else each for each in plan.steps)
    assert "begins before step 10 has ended" in " ".join(unsound(again, replace(plan, steps=early)))
