"""Every check that was made: what it read, what it found, and whether it can be repeated."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run
from tests.cast import Cast
from tests.factories import LabelFactory, ServingFactory, cooked, labelled
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db


def checked(cast: Cast, **how: object) -> Run:
    return check_site(site=cast.ferrowick, **{"trigger": Run.Trigger.HAND, **how})


def test_the_list_says_what_each_run_was_and_found(cast: Cast) -> None:
    """How it came, which days, its state and what it looked at."""
    checked(cast, trigger=Run.Trigger.NIGHT)
    shown = words(as_user(cast.june).get(reverse("runs"), {"site": "ferrowick"}))
    assert "Nightly" in shown
    assert "3 dishes on the plan, 7 children with restrictions" in shown


def test_times_are_those_of_the_site(cast: Cast) -> None:
    """Two in the morning in Chicago, not eight in the morning in Greenwich."""
    cast.ferrowick.time_zone = "America/Chicago"
    cast.ferrowick.save()
    run = checked(cast)
    local = run.as_of.astimezone(cast.ferrowick.zone)
    assert f"{local:%Y-%m-%d %H:%M}" in words(as_user(cast.june).get(reverse("runs"), {"site": "ferrowick"}))


def test_a_failed_run_says_why(cast: Cast) -> None:
    """In words, in the list and on its own page."""
    now = timezone.now()
    run = Run.objects.create(
        site=cast.ferrowick,
        trigger="night",
        state=Run.State.FAILED,
        as_of=now,
        first_day=now.date(),
        last_day=now.date(),
        error="The check was cut off before it came to its end.",
    )
    june = as_user(cast.june)
    assert "Failed: The check was cut off" in words(june.get(reverse("runs"), {"site": "ferrowick"}))
    assert "Failed: The check was cut off" in words(june.get(reverse("run", args=[run.pk])))


def test_a_run_names_the_versions_it_read(cast: Cast) -> None:
    """And a label recorded since is not among them."""
    run = checked(cast)
    LabelFactory(product=cast.larder.oat_bar, ingredients="oats, milk")
    page = soup(as_user(cast.june).get(reverse("run", args=[run.pk])))
    listed = [" ".join(line.get_text(" ").split()) for line in page.select("details li")]
    assert any(line.startswith("Oat bar, label 1") for line in listed)
    assert any(line.startswith("Oat bar, version 1") for line in listed)
    assert not any("label 2" in line for line in listed)


def test_a_run_that_found_the_same_points_to_the_earlier(cast: Cast) -> None:
    """It took no room of its own, and says where its verdicts stand."""
    first, second = checked(cast), checked(cast)
    assert f"same result as run {first.pk}" in words(as_user(cast.june).get(reverse("run", args=[second.pk])))


def test_the_same_facts_give_the_same_result_again(cast: Cast) -> None:
    """Even after newer labels and dishes came."""
    run = checked(cast)
    LabelFactory(product=cast.larder.oat_bar, ingredients="oats, peanuts")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Soup", labelled("celery")))
    page = as_user(cast.june).post(reverse("run-again", args=[run.pk]), follow=True)
    assert "the result is the same to the letter" in words(page)


def test_a_result_that_cannot_be_repeated_is_said_so(cast: Cast) -> None:
    """The stored result stands; the page does not pretend."""
    run = checked(cast)
    Run.objects.filter(pk=run.pk).update(result_hash="0" * 64)
    page = as_user(cast.june).post(reverse("run-again", args=[run.pk]), follow=True)
    assert "the result differs" in words(page)


def test_an_old_check_is_called_old(cast: Cast) -> None:
    """More than 24 hours, in words."""
    run = checked(cast)
    Run.objects.filter(pk=run.pk).update(as_of=run.as_of - timedelta(hours=25))
    assert "more than 24 hours old" in words(as_user(cast.june).get(reverse("runs"), {"site": "ferrowick"}))


def test_only_administrators_and_licensed_staff_see_runs(cast: Cast) -> None:
    """A kitchen has its grid."""
    run = checked(cast)
    for person in (cast.greta, cast.rosa, cast.wren):
        assert as_user(person).get(reverse("runs")).status_code == 404
        assert as_user(person).get(reverse("run", args=[run.pk])).status_code == 404
        assert as_user(person).post(reverse("run-again", args=[run.pk])).status_code == 404
    assert as_user(cast.hakim).get(reverse("run", args=[run.pk])).status_code == 200


def test_queries_do_not_grow_with_runs(cast: Cast) -> None:
    """One run or thirty."""
    june = as_user(cast.june)
    run = checked(cast)
    pages = [f"{reverse('runs')}?site=ferrowick", reverse("run", args=[run.pk])]
    small = [queries(lambda page=page: june.get(page)) for page in pages]
    for n in range(24):
        Run.objects.create(
            site=cast.ferrowick,
            trigger="hand",
            state=Run.State.FAILED,
            as_of=run.as_of - timedelta(days=n),
            first_day=run.first_day,
            last_day=run.last_day,
        )
    # session, user, all-sites post?, sites; how many runs, newest complete run, roles for the menu, runs
    # session, user, all-sites post?, sites; run; recipe versions of the food read and their lines, its servings, its
    # labels; labels, recipes, restrictions; roles for the menu (no word was read, and no record of the kitchen)
    assert [queries(lambda page=page: june.get(page)) for page in pages] == small == [8, 13]
