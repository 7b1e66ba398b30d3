"""Whose lunchboxes licensed staff put together: also of a child who is in no class today, and of nobody who left."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from roster.life.lunchbox import Packed, box_of, save_box
from roster.models import Basis, Child, Enrolment, User
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import ChildFactory, ClassroomFactory, EnrolmentFactory
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def next_monday() -> date:
    today = timezone.localdate()
    return today + timedelta(days=7 - today.weekday())


@pytest.fixture
def lale(cast: Cast) -> Child:
    """A child who begins in Larks on Monday, and is in no class until then."""
    child = ChildFactory.create(given_name="Lale", family_name="Example")
    EnrolmentFactory.create(child=child, classroom=cast.larks, starts_on=next_monday())
    return child


def page(user: User, child: Child, day: date) -> str:
    return words(as_user(user).get(f"/lunchboxes/{child.pk}/", {"day": day.isoformat()}))


def week(user: User, cast: Cast, day: date) -> str:
    return words(as_user(user).get("/lunchboxes/", {"week": day.isoformat(), "class": cast.larks.pk}))


def test_a_child_who_begins_stands_in_the_week_of_its_first_day(cast: Cast, lale: Child) -> None:
    """And not in the one before."""
    assert "Lale E." in week(cast.hakim, cast, next_monday())
    assert "Lale E." not in week(cast.hakim, cast, next_monday() - timedelta(days=7))


@pytest.mark.parametrize("days", [0, 8])
def test_its_box_is_put_together_before_it_begins(cast: Cast, lale: Child, days: int) -> None:
    """For a day in the class, and for one before it, where the page says by which room it is judged."""
    record_restriction(child=cast.mateo, substance="peanut", basis=Basis.POLICY)
    day = timezone.localdate() + timedelta(days=days)
    sent = {"do": "product", "product": cast.larder.peanut_butter.pk, "under": ""}
    answer = as_user(cast.hakim).post(f"/lunchboxes/{lale.pk}/?day={day}", sent, follow=True)
    assert "Peanut butter withhold The room has a rule about peanut." in words(answer)
    assert ("On that day the child is in no class" in words(answer)) is (day < next_monday())
    assert box_of(lale, day) is not None


def test_its_labels_and_list_are_printed_with_those_of_its_class(cast: Cast, lale: Child) -> None:
    """As soon as a box is planned."""
    save_box(child=lale, day=next_monday(), items=[Packed("Rice", household="rice")], by=cast.hakim, replaces=None)
    asked = {"week": next_monday().isoformat(), "class": cast.larks.pk}
    assert "Rice" in words(as_user(cast.hakim).get("/lunchboxes/list/", asked))
    assert as_user(cast.hakim).get("/lunchboxes/labels.pdf", asked).content.startswith(b"%PDF")


def test_the_way_there_from_the_childs_page_and_back_to_its_class(cast: Cast, lale: Child) -> None:
    """Without searching the classes for a child who is in none."""
    nurse = as_user(cast.hakim)
    assert soup(nurse.get(f"/children/{lale.pk}/")).find("a", href=f"/lunchboxes/{lale.pk}/")
    links = [each["href"] for each in soup(nurse.get(f"/lunchboxes/{lale.pk}/")).find("main").find_all("a")]
    assert any(f"class={cast.larks.pk}" in link for link in links)


def test_a_guardian_is_led_back_to_their_own_children(cast: Cast) -> None:
    """Never to a class."""
    links = soup(as_user(cast.amara).get(f"/lunchboxes/{cast.noor.pk}/")).find("main").find_all("a")
    assert not any("class=" in each["href"] for each in links)


def test_a_box_is_judged_by_the_room_of_its_day(cast: Cast) -> None:
    """A child who moves to another site on Monday meets that room's rules from then on."""
    record_restriction(child=cast.ravi, substance="peanut", basis=Basis.POLICY)
    Enrolment.objects.filter(child=cast.noor).update(ends_on=next_monday() - timedelta(days=1))
    EnrolmentFactory.create(child=cast.noor, classroom=cast.minnows, starts_on=next_monday())
    rule = "The room has a rule about peanut."
    assert rule in page(cast.amara, cast.noor, next_monday())
    assert rule not in page(cast.amara, cast.noor, timezone.localdate())


def test_nobody_reaches_a_child_who_left(cast: Cast) -> None:
    """Only its guardian, who may look at what was packed."""
    yesterday = timezone.localdate() - timedelta(days=1)
    Enrolment.objects.filter(child=cast.noor).update(starts_on=yesterday - timedelta(days=30), ends_on=yesterday)
    assert as_user(cast.hakim).get(f"/lunchboxes/{cast.noor.pk}/").status_code == 404
    assert as_user(cast.amara).get(f"/lunchboxes/{cast.noor.pk}/").status_code == 200


def test_another_class_and_another_site_stay_out_of_reach(cast: Cast, lale: Child) -> None:
    """A teacher of the class, staff of another site: no way in."""
    other = ChildFactory.create(given_name="Oto")
    EnrolmentFactory.create(child=other, classroom=ClassroomFactory.create(), starts_on=next_monday())
    assert "Oto" not in week(cast.hakim, cast, next_monday())
    for user in (cast.rosa, cast.pavel, cast.amara):
        assert as_user(user).get(f"/lunchboxes/{lale.pk}/").status_code == 404
