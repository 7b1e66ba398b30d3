"""Servings by the API: counts of the children that one may see, and never a count where nobody has looked."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.run import check_site
from menus.models import Site
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    RestrictionFactory,
    ServingFactory,
    cooked,
    labelled,
)


def today(site: Site) -> dict[str, str]:
    """The question about one site's servings of today."""
    day = timezone.localdate().isoformat()
    return {"site": site.code, "first": day, "last": day}


def by_dish(answer: Any) -> dict[str, Any]:
    """The counts by dish."""
    return {row["dish"]: row["children"] for row in answer.json()["results"]}


def test_counts_follow_the_table_of_the_cast(checked: Cast) -> None:
    """Sandwich: Noor and Mateo. Oat bar: Noor (oats), Anneke and Ifeoma. Ham: Yusuf and Saoirse."""
    counts = by_dish(Asker(checked.greta).get("servings/", **today(checked.ferrowick)))
    assert counts["Peanut butter sandwich"] == {"withhold": 2, "refer": 0}
    assert counts["Ham and rice"] == {"withhold": 2, "refer": 0}
    assert sum(counts["Oat bar"].values()) == 3


def test_nothing_is_counted_before_a_run_has_looked(cast: Cast) -> None:
    """An unchecked serving has no counts at all: nought would read as nobody concerned."""
    answer = Asker(cast.greta).get("servings/", **today(cast.ferrowick)).json()
    assert [row["children"] for row in answer["results"]] == [None] * 3
    assert not any(row["checked"] for row in answer["results"])
    assert answer["coverage"] == {"site": "ferrowick", "run": None, "unchecked": 3}


def test_a_dish_added_after_the_run_is_unchecked(checked: Cast) -> None:
    """Coverage says how many servings the last run could not have read."""
    ServingFactory(site=checked.ferrowick, recipe=cooked("Late toast", checked.larder.bread))
    answer = Asker(checked.greta).get("servings/", **today(checked.ferrowick))
    assert by_dish(answer)["Late toast"] is None
    assert answer.json()["coverage"]["unchecked"] == 1 and answer.json()["coverage"]["run"]


def test_what_a_dish_is_one_choice_of_is_told(cast: Cast) -> None:
    """Empty where every child is served it."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Late toast", cast.larder.bread), choice="toast")
    rows = Asker(cast.greta).get("servings/", **today(cast.ferrowick)).json()["results"]
    assert {row["dish"]: row["choice"] for row in rows}["Late toast"] == "toast"
    assert [row["choice"] for row in rows].count("") == 3


def test_a_teacher_counts_their_own_class(cast: Cast) -> None:
    """A child of the class next door adds to the kitchen's count and not to Rosa's."""
    neighbour = ChildFactory(given_name="Tomasz")
    EnrolmentFactory(child=neighbour, classroom=ClassroomFactory(site=cast.ferrowick))
    RestrictionFactory(child=neighbour, substance="peanut")
    check_site(site=cast.ferrowick, trigger="hand")
    asked = today(cast.ferrowick)
    assert by_dish(Asker(cast.greta).get("servings/", **asked))["Peanut butter sandwich"]["withhold"] == 3
    assert by_dish(Asker(cast.rosa).get("servings/", **asked))["Peanut butter sandwich"]["withhold"] == 2


BAD = [
    ({"site": "tansy-gate"}, "site", "does_not_exist"),
    ({"site": ""}, "site", "null"),
    ({"last": "2020-01-01", "first": "2020-01-02"}, "last", "order"),
    ({"last": "2020-03-03", "first": "2020-01-01"}, "last", "too-many-days"),
    ({"first": "0000-00-00"}, "first", "invalid"),
    ({"sites": "ferrowick"}, "sites", "unknown"),
    ({"limit": "0"}, "limit", "min_value"),
    ({"limit": "501"}, "limit", "max_value"),
    ({"offset": "-1"}, "offset", "min_value"),
    ({"offset": "many"}, "offset", "invalid"),
    ({"site": ["ferrowick", "tansy-gate"]}, "site", "twice"),
]


@pytest.mark.parametrize(("change", "field", "code"), BAD)
def test_a_bad_question_is_refused(cast: Cast, change: dict[str, Any], field: str, code: str) -> None:
    """No part of a question is passed over: a misspelt filter must not widen the answer."""
    answer = Asker(cast.greta).get("servings/", **{**today(cast.ferrowick), **change})
    assert answer.status_code == 400
    assert [(error["field"], error["code"]) for error in answer.json()["errors"]] == [(field, code)]


@pytest.mark.parametrize("dishes", [0, 8])
def test_the_list_costs_the_same_at_any_size(cast: Cast, django_assert_num_queries: Any, dishes: int) -> None:
    """The number of queries does not grow with the servings."""
    for n in range(dishes):
        ServingFactory(site=cast.ferrowick, recipe=cooked(f"Toast {n}", labelled("wheat flour, water")))
    check_site(site=cast.ferrowick, trigger="hand")
    asker = Asker(cast.hakim)
    # The session; the person; the roles; the site; whether a post reaches all sites;
    # the servings; those that a run has read; the newest run of the site;
    # exceptions: whether a post reaches all sites, enrolments, served dishes, the runs of their days, restrictions
    # read, restrictions in force; coverage: the newest run, the servings that no run has read.
    with django_assert_num_queries(17):
        answer = asker.get("servings/", **today(cast.ferrowick))
    assert answer.json()["count"] == 3 + dishes
