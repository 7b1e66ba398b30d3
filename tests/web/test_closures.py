"""The calendar of a site: what is taken, what is refused with all that was typed, who may, and where it shows."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from bs4 import Tag
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from menus.models import Closure, Meal, Serving
from menus.services.calendar import record_closure
from menus.services.servings import plan_servings
from roster.models import Action, Role, User, Verb
from tests.cast import Cast
from tests.factories import ClosureFactory, CycleEntryFactory, CycleMenuFactory, PostFactory, UserFactory
from tests.web.pages import as_user, soup, words

ALL = list(Meal.values)


def tomorrow() -> date:
    return timezone.localdate() + timedelta(days=1)


def typed(**more: Any) -> dict[str, Any]:
    day = tomorrow().isoformat()
    return {"first_day": day, "last_day": day, "meals": ALL, "reason": "staff training", "where": "here", **more}


def sent(user: User, name: str = "closures", pk: int | None = None, **more: Any) -> HttpResponse:
    address = reverse(name, args=[pk] if pk else [])
    return as_user(user).post(f"{address}?site=ferrowick", typed(**more), follow=True)


def principal(cast: Cast) -> User:
    """An administrator of Ferrowick alone."""
    user = UserFactory.create()
    PostFactory(user=user, role=Role.ADMINISTRATOR, site=cast.ferrowick)
    return user


def test_it_is_saved_told_and_on_record(cast: Cast) -> None:
    answer = sent(cast.june)
    assert "No meals: staff training." in words(answer)
    closure = Closure.objects.get()
    assert (closure.site, closure.first_day, closure.recorded_by) == (cast.ferrowick, tomorrow(), cast.june)
    entry = Action.objects.filter(verb=Verb.RECORDED, subject=f"closure {closure.pk}").get()
    assert (entry.actor, entry.site) == (cast.june, cast.ferrowick)


def test_an_empty_last_day_is_that_one_day(cast: Cast) -> None:
    sent(cast.june, last_day="")
    assert Closure.objects.get().last_day == tomorrow()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"first_day": ""}, "Give a day"),
        ({"first_day": "soon"}, "This is no date"),
        ({"last_day": "2001-01-01"}, "lies before the first day"),
        ({"last_day": "2999-01-01"}, "more than a year"),
        ({"meals": []}, "Tick at least one meal"),
        ({"reason": ""}, "Say why"),
    ],
)
def test_what_cannot_be_is_refused_and_the_rest_stays(cast: Cast, more: dict[str, Any], told: str) -> None:
    answer = sent(cast.june, **{"reason": "a long reason", **more})
    assert told in words(answer) and not Closure.objects.exists()
    kept = soup(answer).find(id="id_reason")
    assert isinstance(kept, Tag) and kept.get("value", "") == more.get("reason", "a long reason")


def test_all_sites_only_by_who_administers_them_all(cast: Cast) -> None:
    sent(cast.june, where="everywhere")
    assert Closure.objects.get().site is None
    theirs = principal(cast)
    page = as_user(theirs).get(reverse("closures"))
    assert "(all sites)" in words(page) and soup(page).find(id="id_where") is None
    assert not soup(page).select(f'a[href^="{reverse("closure", args=[Closure.objects.get().pk])}"]')
    sent(theirs, where="everywhere", reason="ours")
    assert Closure.objects.get(reason="ours").site == cast.ferrowick
    everywhere = Closure.objects.get(site=None)
    for name in ("closure", "closure-lift"):
        assert sent(theirs, name, everywhere.pk).status_code == 404


def test_another_sites_entries_are_not_there(cast: Cast) -> None:
    other = ClosureFactory(site=cast.tansy_gate, reason="painting")
    theirs = principal(cast)
    assert "painting" not in words(as_user(theirs).get(reverse("closures")))
    assert as_user(theirs).get(reverse("closure", args=[other.pk])).status_code == 404
    assert as_user(theirs).get(reverse("closures"), {"site": "tansy-gate"}).status_code == 404


def test_it_is_changed_by_a_newer_version_and_taken_back(cast: Cast) -> None:
    first = ClosureFactory(site=cast.ferrowick, reason="break")
    assert "Tick" not in words(sent(cast.june, "closure", first.pk, reason="long break"))
    second = Closure.objects.newest().get()
    assert (second.reason, second.replaces) == ("long break", first)
    assert "served after all" in words(sent(cast.june, "closure-lift", second.pk))
    assert not Closure.objects.newest().exists()


@pytest.mark.parametrize("name", ["closure", "closure-lift"])
def test_what_somebody_recorded_meanwhile_is_shown_beside_ones_own(cast: Cast, name: str) -> None:
    """Sent again from that page it is taken."""
    first = ClosureFactory(site=cast.ferrowick, reason="break")
    newer = record_closure(
        site=cast.ferrowick, first_day=tomorrow(), last_day=tomorrow(), meals=ALL, reason="flood", replaces=first
    ).closure
    answer = sent(cast.june, name, first.pk, reason="mine")
    said = words(answer)
    assert "Look at both and decide again" in said and "flood" in said
    assert ("mine" in said) == (name == "closure")
    assert Closure.objects.newest().get() == newer
    assert soup(answer).select(f'form[action^="{reverse(name, args=[newer.pk])}"]')
    sent(cast.june, name, newer.pk, reason="mine")
    assert newer not in Closure.objects.newest()


def test_an_entry_no_longer_standing_leads_to_the_calendar(cast: Cast) -> None:
    first = ClosureFactory(site=cast.ferrowick)
    sent(cast.june, "closure-lift", first.pk)
    assert "no longer what stands" in words(as_user(cast.june).get(reverse("closure", args=[first.pk])))


def planned_today(cast: Cast) -> None:
    """A cycle of one week that serves lunch at Ferrowick on every day."""
    cycle = CycleMenuFactory(site=cast.ferrowick, weeks=1)
    for weekday in range(7):
        CycleEntryFactory(cycle=cycle, week=1, weekday=weekday, meal=Meal.LUNCH, recipe__name="Bean chili")
    Serving.objects.filter(site=cast.ferrowick).update(withdrawn_at=timezone.now())
    day = timezone.localdate()
    plan_servings(site=cast.ferrowick, first=day, last=day + timedelta(days=6))


def test_the_pages_of_the_day_and_of_the_week_say_so(cast: Cast) -> None:
    """In place of the dishes: on the class's day, the kitchen's, and the menu."""
    planned_today(cast)
    assert "Bean chili" in words(as_user(cast.rosa).get("/today/"))
    day = timezone.localdate()
    # The menu shows no Saturday or Sunday on which nothing is served; one of three days is another.
    last = day + timedelta(days=2)
    record_closure(site=cast.ferrowick, first_day=day, last_day=last, meals=ALL, reason="burst pipe")
    for user, page in ((cast.rosa, "today"), (cast.greta, "kitchen-day"), (cast.greta, "cycle")):
        assert "No meals: burst pipe" in words(as_user(user).get(reverse(page)))
    assert "Bean chili" not in words(as_user(cast.rosa).get("/today/"))


def test_a_dish_that_stays_on_a_closed_day_is_told_as_such(cast: Cast) -> None:
    """Else “no meals” and a dish below it leave people to guess which of them holds."""
    pages = [(cast.rosa, "today"), (cast.greta, "kitchen-day"), (cast.greta, "cycle")]
    told = "on the plan all the same"
    assert not [page for user, page in pages if told in words(as_user(user).get(reverse(page)))]
    ClosureFactory(site=cast.ferrowick, first_day=timezone.localdate(), last_day=timezone.localdate(), meals=["lunch"])
    assert not [page for user, page in pages if told not in words(as_user(user).get(reverse(page)))]


def test_a_half_day_names_what_is_left_out(cast: Cast) -> None:
    ClosureFactory(site=cast.ferrowick, last_day=timezone.localdate(), meals=["snack", "supper"], reason="half day")
    assert "No snack, no supper: half day" in words(as_user(cast.rosa).get("/today/"))


def test_a_calendar_is_imported_by_its_administrator(cast: Cast) -> None:
    file = SimpleUploadedFile("year.csv", b"site,first_day,reason\nferrowick,2026-12-24,winter break\n")
    june = as_user(cast.june)
    assert "On a day without meals nothing is planned" in words(june.get(reverse("import-closures")))
    answer = june.post(reverse("import-closures"), {"file": file, "save": "1"}, follow=True)
    assert "Saved: entry of the calendar: 1 new" in words(answer)
    assert Closure.objects.get().recorded_by == cast.june
    assert as_user(cast.hakim).get(reverse("import-closures")).status_code == 404
