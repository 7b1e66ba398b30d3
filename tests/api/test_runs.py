"""Runs by the API: what was checked and what it read, for those who answer for a site."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.checks.readby import read_by
from compliance.checks.run import check_site
from compliance.models import Run
from roster.models import Role
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory


def test_each_sees_the_runs_of_their_sites(checked: Cast) -> None:
    """The nurse of one site does not see the runs of the other."""
    vera = UserFactory(username="vera")
    PostFactory(user=vera, role=Role.LICENSED, site=checked.tansy_gate)
    assert {row["site"] for row in Asker(checked.june).get("runs/").json()["results"]} == {"ferrowick", "tansy-gate"}
    assert {row["site"] for row in Asker(vera).get("runs/").json()["results"]} == {"tansy-gate"}
    assert Asker(checked.june).get("runs/", site="ferrowick").json()["count"] == 1
    assert Asker(vera).get("runs/", site="ferrowick").status_code == 400
    other = Run.objects.get(site=checked.ferrowick)
    assert Asker(vera).get(f"runs/{other.pk}/").status_code == 404


def test_a_run_names_what_it_read(checked: Cast) -> None:
    """The versions that a run read are in its answer, so that it can be worked out again."""
    run = Run.objects.get(site=checked.ferrowick)
    answer = Asker(checked.june).get(f"runs/{run.pk}/").json()
    assert answer["inputs"] == run.inputs | read_by(run) and answer["result_hash"] == run.result_hash
    assert answer["inputs"]["labels"] and answer["inputs"]["servings"]


@pytest.mark.parametrize("who", ["rosa", "greta"])
def test_runs_are_for_those_who_answer_for_them(checked: Cast, who: str) -> None:
    """A teacher or a cook is refused, as on the page, and told whom to ask."""
    answer = Asker(getattr(checked, who)).get("runs/")
    assert answer.status_code == 403 and "administrator" in answer.json()["detail"]


@pytest.mark.parametrize("more", [0, 4])
def test_the_list_costs_the_same_at_any_size(checked: Cast, django_assert_num_queries: Any, more: int) -> None:
    """The number of queries does not grow with the runs."""
    for _ in range(more):
        check_site(site=checked.ferrowick, trigger="hand")
    asker = Asker(checked.june)
    # The session; the person; the roles; whether a post reaches all sites; the count; the runs with their sites.
    with django_assert_num_queries(6):
        answer = asker.get("runs/")
    assert answer.json()["count"] == 2 + more
