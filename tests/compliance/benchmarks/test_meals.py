"""`benchmark meals`: a school's week both ways, in JSON, without a database."""

from __future__ import annotations

import json

import pytest
from django.core.management import call_command

from compliance.benchmarks.meals import meals, school_week
from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import DISHES
from menus.planning.meals.search import choose


def test_a_schools_week_is_found_in_five_seconds_and_proven() -> None:
    """500 children, 8 % of them restricted: as asked for."""
    told = meals(500)
    assert told["restricted"] == 40 and told["meals"] == 10
    assert told["least_work"]["proven"] and told["least_work"]["seconds"] <= 5


def test_the_figures_are_those_of_the_two_ways() -> None:
    told, task = meals(100), school_week(100)
    assert told["least_work"]["extra_dishes"] == choose(task, 20).tally[DISHES]
    assert told["dish_by_dish"]["extra_dishes"] == by_hand(task).tally[DISHES]
    assert told["ratio"]["extra_dishes"] == pytest.approx(
        choose(task, 20).tally[DISHES] / by_hand(task).tally[DISHES], abs=1e-3
    )


def test_the_same_school_is_made_each_time() -> None:
    assert school_week(200) == school_week(200) != school_week(300)


def test_with_limits_no_more_of_them_lapse_than_by_hand() -> None:
    """Of the same school, whose dishes then hold something; not proven, the least that is possible stands beside it."""
    told = meals(100, limits=True)
    least, by_hand = told["least_work"], told["dish_by_dish"]
    lapsed = "weekly_limits_not_known_to_be_kept"
    assert least["children_without_a_whole_meal"] == by_hand["children_without_a_whole_meal"]
    assert least["at_least"][2] <= least[lapsed] <= by_hand[lapsed]


def test_the_command_prints_json(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("benchmark", "meals", "--children", "50")
    told = json.loads(capsys.readouterr().out)
    assert told["benchmark"] == "meals" and told["children"] == 50
    assert set(told["ratio"]) >= {"children_without_a_whole_meal", "extra_dishes", "extra_portions"}
