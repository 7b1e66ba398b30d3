"""Nights by the API: how far they are, for those who answer for the sites, and nothing of the sites of others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.models import Night, NightSlice
from roster.models import Role, User
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.compliance.operations.rows import failed_run, night_of, night_under_way, slice_of
from tests.factories import PostFactory, UserFactory
from tests.web.doors import ACTORS
from tests.web.pages import queries


@pytest.fixture
def ansel(cast: Cast) -> User:
    """The administrator of Tansy Gate alone."""
    user: User = UserFactory.create(username="ansel")
    PostFactory.create(user=user, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    return user


def test_how_far_a_night_is(cast: Cast) -> None:
    """Counts of sites and slices, and the time left at the pace so far."""
    night = night_under_way([cast.ferrowick], [], [cast.tansy_gate])
    answer = Asker(cast.june).get(f"nights/{night.pk}/").json()
    told = answer["night"]
    assert told["state"] == "running" and told["closed_at"] is None
    assert told["sites"] == {"total": 2, "checked": 1, "busy": 0, "failed": 0, "running": 0, "waiting": 1}
    assert told["slices"] == {"waiting": 1, "running": 0, "done": 1, "failed": 0}
    assert 55 <= told["seconds_left"] <= 75
    assert [each["sites"] for each in answer["slices"]] == [
        [{"site": "ferrowick", "fate": "checked"}],
        [{"site": "tansy-gate", "fate": "waiting"}],
    ]
    assert answer["cautions"]


def test_the_list_is_newest_first_and_comes_in_parts(cast: Cast) -> None:
    now = timezone.now()
    nights = [night_of([cast.ferrowick], begun=now - timedelta(days=days)) for days in (1, 2, 3)]
    answer = Asker(cast.june).get("nights/", limit=2).json()
    assert [each["id"] for each in answer["results"]] == [night.pk for night in nights[:2]]
    assert (answer["count"], answer["previous"]) == (3, None) and "offset=2" in answer["next"]
    assert answer["results"][0]["seconds_left"] is None


def test_of_other_sites_nothing_is_told(cast: Cast, ansel: User) -> None:
    """Neither codes nor numbers; a night of others alone is not found."""
    both = night_of([cast.ferrowick, cast.tansy_gate], state=Night.State.PARTIAL)
    slice_of(both, 2, [cast.ferrowick.pk], state=NightSlice.State.FAILED, counts={})
    failed_run(cast.ferrowick, both.started_at)
    theirs = night_of([cast.ferrowick], begun=timezone.now())
    asker = Asker(ansel)
    (told,) = asker.get("nights/").json()["results"]
    assert (told["id"], told["state"], told["sites"]["total"]) == (both.pk, "complete", 1)
    whole = asker.get(f"nights/{both.pk}/").json()
    assert [each["sites"] for each in whole["slices"]] == [[{"site": "tansy-gate", "fate": "checked"}]]
    assert asker.get(f"nights/{theirs.pk}/").status_code == 404
    assert asker.get("nights/999999/").status_code == 404
    assert Asker(cast.june).get(f"nights/{both.pk}/").json()["night"]["state"] == "partial"


@pytest.mark.parametrize("who", [name for name, role in ACTORS.items() if role != Role.ADMINISTRATOR])
def test_it_is_for_administrators(cast: Cast, who: str) -> None:
    """Every other role is refused, and told whom to ask."""
    night = night_of([cast.ferrowick])
    for address in ("nights/", f"nights/{night.pk}/"):
        answer = Asker(getattr(cast, who)).get(address)
        assert answer.status_code == 403 and "administrator" in answer.json()["detail"]


@pytest.mark.django_db
def test_strangers_are_refused() -> None:
    assert Asker().get("nights/").status_code == 403
    assert Asker().get("nights/1/").status_code == 403


def test_what_is_asked_is_checked(cast: Cast) -> None:
    """A misspelt name is refused."""
    assert Asker(cast.june).get("nights/", limits=3).status_code == 400


def test_queries_do_not_grow(cast: Cast) -> None:
    """One night or eight."""
    june = Asker(cast.june)

    def fill(day: int) -> None:
        night_of([cast.ferrowick, cast.tansy_gate], size=1, begun=timezone.now() - timedelta(days=day))

    fill(1)
    few = queries(lambda: june.get("nights/"))
    for day in range(2, 9):
        fill(day)
    # The session; the person; the posts for the permit, for the scope and for its sites; the sites; which nights; the
    # nights, their slices.
    assert queries(lambda: june.get("nights/")) == few == 9
