"""The roster by the API: what each child may not have, and no more than who asks needs to know."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from roster.models import Basis, Strictness
from roster.services import record_restriction
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.factories import ChildFactory, EnrolmentFactory, RestrictionFactory


def children(asker: Asker, classroom: int, **asked: Any) -> dict[str, list[dict[str, Any]]]:
    """Restrictions by first name."""
    rows = asker.get(f"classrooms/{classroom}/children/", **asked).json()["results"]
    return {row["name"].split()[0]: row["restrictions"] for row in rows}


def test_each_sees_the_classrooms_of_their_posts(cast: Cast) -> None:
    """A teacher the own class, a cook those of the site, the nurse of all sites every one."""
    seen = {
        who: {row["name"] for row in Asker(user).get("classrooms/").json()["results"]}
        for who, user in (("rosa", cast.rosa), ("pavel", cast.pavel), ("hakim", cast.hakim))
    }
    assert seen == {"rosa": {"Larks"}, "pavel": {"Minnows"}, "hakim": {"Larks", "Minnows"}}
    assert Asker(cast.hakim).get("classrooms/", site="tansy-gate").json()["count"] == 1


def test_teacher_reads_food_and_strictness_but_no_basis(cast: Cast) -> None:
    """Rosa learns that Yusuf avoids pork as an ingredient, not that the reason is religious."""
    larks = children(Asker(cast.rosa), cast.larks.pk)
    assert larks["Bao"] == [] and len(larks) == 8
    assert larks["Yusuf"] == [
        {
            "substance": {"code": "pork", "name": larks["Yusuf"][0]["substance"]["name"]},
            "strictness": "ingredient",
            "basis": None,
        }
    ]


@pytest.mark.parametrize(("who", "basis"), [("hakim", "religious"), ("june", "religious"), ("greta", None)])
def test_basis_is_for_licensed_staff_and_administrators(cast: Cast, who: str, basis: str | None) -> None:
    """Who cooks or hands out the food does not need to know why."""
    [restriction] = children(Asker(getattr(cast, who)), cast.larks.pk)["Yusuf"]
    assert restriction["basis"] == basis


def test_the_words_of_a_report_are_shown_to_nobody(cast: Cast) -> None:
    """The note may hold a diagnosis; no answer of the API holds the note."""
    RestrictionFactory(child=cast.bao, substance="kiwi", note="eosinophilic oesophagitis")
    answer = Asker(cast.hakim).get(f"classrooms/{cast.larks.pk}/children/")
    assert b"kiwi" in answer.content and b"oesophagitis" not in answer.content


def test_a_replaced_version_no_longer_shows(cast: Cast) -> None:
    """The list holds what stands: the newest version of each restriction, on the day asked about."""
    old = cast.yusuf.restrictions.get()
    record_restriction(
        child=cast.yusuf, substance="pork", replaces=old, strictness=Strictness.TRACE, basis=Basis.RELIGIOUS
    )
    [restriction] = children(Asker(cast.rosa), cast.larks.pk)["Yusuf"]
    assert restriction["strictness"] == "trace"


def test_the_day_decides(cast: Cast) -> None:
    """A child who comes tomorrow is not in the class today, and a restriction that begins tomorrow does not hold."""
    tomorrow = timezone.localdate() + timedelta(days=1)
    EnrolmentFactory(child=ChildFactory(given_name="Ulla"), classroom=cast.larks, starts_on=tomorrow)
    RestrictionFactory(child=cast.bao, substance="milk", starts_on=tomorrow)
    asker = Asker(cast.rosa)
    today, later = children(asker, cast.larks.pk), children(asker, cast.larks.pk, day=tomorrow.isoformat())
    assert "Ulla" not in today and today["Bao"] == []
    assert "Ulla" in later and [each["substance"]["code"] for each in later["Bao"]] == ["milk"]


def test_another_class_is_not_found(cast: Cast) -> None:
    """Neither the teacher of another class nor the cook of another site learns that it exists."""
    for outsider in (cast.dmitri, cast.pavel):
        answer = Asker(outsider).get(f"classrooms/{cast.larks.pk}/children/")
        assert answer.status_code == 404 and "posts" in answer.json()["detail"]


def test_a_post_of_the_past_opens_nothing(cast: Cast) -> None:
    """The day after the last day of a post its doors are shut."""
    cast.rosa.posts.update(ends_on=timezone.now().date() - timedelta(days=1))
    assert Asker(cast.rosa).get("classrooms/").status_code == 403


@pytest.mark.parametrize("more", [0, 20])
def test_the_list_costs_the_same_at_any_size(cast: Cast, django_assert_num_queries: Any, more: int) -> None:
    """The number of queries does not grow with the class."""
    for _ in range(more):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child)
    asker = Asker(cast.hakim)
    # The session; the person; the roles; whether a post reaches all sites; the classroom; the count of children; the
    # children; their restrictions, their levels of texture; whether the basis may be read.
    with django_assert_num_queries(10):
        answer = asker.get(f"classrooms/{cast.larks.pk}/children/")
    assert answer.json()["count"] == 8 + more


@pytest.mark.parametrize("more", [0, 5])
def test_classrooms_cost_the_same_at_any_size(cast: Cast, django_assert_num_queries: Any, more: int) -> None:
    """The number of queries does not grow with the classrooms."""
    for n in range(more):
        cast.ferrowick.classrooms.create(name=f"Room {n}")
    asker = Asker(cast.hakim)
    # The session; the person; the roles; whether a post reaches all sites; the count; the classrooms with their sites.
    with django_assert_num_queries(6):
        answer = asker.get("classrooms/")
    assert answer.json()["count"] == 2 + more


def test_a_substitute_reads_the_day_of_the_post_and_no_other(cast: Cast) -> None:
    """Neither who was in the class before, nor who will be."""
    sefa, day = Asker(cast.sefa), timezone.now().date()
    address = f"classrooms/{cast.larks.pk}/children/"
    assert sefa.get(address, day=day.isoformat()).status_code == 200
    for other in (day - timedelta(days=1), day + timedelta(days=1)):
        refused = sefa.get(address, day=other.isoformat())
        assert refused.status_code == 404 and "Ask for a day on which you hold it" in refused.json()["detail"]
