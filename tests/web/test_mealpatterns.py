"""Which pattern a meal follows: what is saved, what is refused with all that was typed, who may, what is shown."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from menus.models import Meal, SitePattern
from menus.services.patterns import set_pattern
from roster.models import Action, User, Verb
from tests.cast import Cast
from tests.web.pages import as_user, soup, words

ADDRESS = "/site/meal-patterns/?site=ferrowick"


def sent(user: User, **more: Any) -> HttpResponse:
    typed = {"meal": "lunch", "pattern": "nslp-lunch/K-5", "starts_on": "2026-08-03", "ends_on": "", **more}
    return as_user(user).post(ADDRESS, typed, follow=True)


def test_it_is_saved_told_and_on_record(cast: Cast) -> None:
    """By whom, and shown as what holds today."""
    assert reverse("meal-patterns") == ADDRESS.partition("?")[0]
    answer = sent(cast.june)
    assert "Lunch follows school lunch, K-5 (nslp-lunch) from 3 August 2026 on." in words(answer)
    said = SitePattern.objects.get()
    assert (said.site, said.meal, said.starts_on, said.recorded_by) == (
        cast.ferrowick,
        Meal.LUNCH,
        date(2026, 8, 3),
        cast.june,
    )
    assert Action.objects.filter(verb=Verb.RECORDED, actor=cast.june, site=cast.ferrowick).exists()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"pattern": "sbp-breakfast/K-5"}, "is no pattern of a lunch"),
        ({"pattern": "no-lunch/K-5"}, "no-lunch/K-5 is not one of the available choices"),
        ({"ends_on": "2026-07-01"}, "The last day lies before the first."),
        ({"starts_on": ""}, "Give a day, as 2026-01-31."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(cast: Cast, more: dict[str, str], says: str) -> None:
    """Beside the field that it is about."""
    answer = sent(cast.june, **more)
    assert says in words(answer)
    assert not SitePattern.objects.exists()
    chosen = soup(answer).select_one("#id_meal option[selected]")
    assert chosen is not None and chosen["value"] == "lunch"


def test_a_meal_of_which_nothing_is_said_says_so(cast: Cast) -> None:
    """Silence is no pattern."""
    answer = as_user(cast.june).get(ADDRESS)
    assert words(answer).count("Nothing is said, so weeks of this meal are not judged.") == len(Meal)


def test_what_begins_later_stands_beside_what_holds(cast: Cast) -> None:
    """A correction of it in its place."""
    today = timezone.localdate()
    said = {"site": cast.ferrowick, "meal": Meal.LUNCH, "program": "nslp-lunch"}
    set_pattern(**said, group="K-5", starts_on=today - timedelta(days=9))
    set_pattern(**said, group="6-8", starts_on=today + timedelta(days=9))
    set_pattern(**said, group="K-8", starts_on=today + timedelta(days=9))
    shown = words(as_user(cast.june).get(ADDRESS))
    assert "School lunch, K-5 (nslp-lunch), since" in shown
    assert "one menu for both groups, K-8 (nslp-lunch)" in shown.partition("Say what a meal follows")[0]
    assert "school lunch, 6-8" not in shown.partition("Say what a meal follows")[0]


def test_only_an_administrator_comes_here(cast: Cast) -> None:
    """Others read what it comes to on the page of the week."""
    assert as_user(cast.greta).get(ADDRESS).status_code in (403, 404)
