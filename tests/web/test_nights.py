"""The page of nights: what wants somebody, how far a night is, and nothing of the sites of others."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.models import CheckedDay, DeadLetter, Night, NightSlice, Run, UnreadChange
from menus.models import Site
from roster.models import Role, User
from tests.cast import Cast
from tests.compliance.operations.rows import failed_run, letter_of, night_of, night_under_way, run_of, slice_of
from tests.factories import PostFactory, SiteFactory, UserFactory
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db
NIGHTS = "/nights/"


@pytest.fixture
def ansel(cast: Cast) -> Client:
    """The administrator of Tansy Gate alone."""
    user: User = UserFactory.create(username="ansel")
    PostFactory.create(user=user, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    return as_user(user)


def checked(site: Site, ago: timedelta) -> None:
    now = timezone.now()
    CheckedDay.objects.create(site=site, day=now.astimezone(site.zone).date(), run=run_of(site, now - ago))


def test_a_good_night_in_words(cast: Cast) -> None:
    """When it was due, how many sites, how long; and that nothing wants anybody."""
    for site in (cast.ferrowick, cast.tansy_gate):
        checked(site, timedelta(hours=3))
    night_of([cast.ferrowick, cast.tansy_gate], size=1)
    shown = words(as_user(cast.june).get(NIGHTS))
    assert "Every site was checked in time, and no work was given up." in shown
    assert "Complete 2 of 2 checked 2 done 2 minutes" in shown


def test_how_a_night_came_about_is_said_where_it_is_out_of_the_ordinary(cast: Cast) -> None:
    night_of([cast.ferrowick], begun=timezone.now() - timedelta(hours=9))
    night_of([cast.ferrowick], begun=timezone.now() - timedelta(hours=5), turn=2)
    night_of([cast.ferrowick], trigger=Run.Trigger.HAND)
    rows = soup(as_user(cast.june).get(NIGHTS)).select("tbody th .muted")
    assert [row.get_text() for row in rows] == ["by hand", "tried again, turn 2"]


def test_a_late_site_is_told_in_words_with_what_to_do(cast: Cast) -> None:
    checked(cast.ferrowick, timedelta(hours=31))
    checked(cast.tansy_gate, timedelta(hours=3))
    failed_run(cast.ferrowick, timezone.now() - timedelta(hours=2))
    letter_of(cast.ferrowick)
    shown = words(as_user(cast.june).get(NIGHTS))
    assert "Given up" not in shown, "it is told once"
    assert (
        "Ferrowick Elementary School was last checked 31 hours ago. Its check failed: RecipeCycle: a dish holds "
        "itself Mend what the error names, then check the site again" in shown
    )
    assert "Tansy Gate" not in shown


def test_a_letter_says_why_and_what_to_do(cast: Cast) -> None:
    letter_of(cast.ferrowick, attempts=5, failed_at=timezone.now() - timedelta(hours=3))
    letter_of(cast.tansy_gate, reason=DeadLetter.Reason.AWAY, error="")
    shown = words(as_user(cast.june).get(NIGHTS))
    assert (
        "Ferrowick Elementary School : The check ended in an error (3 hours ago, after 5 tries). RecipeCycle" in shown
    )
    assert "The database or the broker was away every time" in shown and "See that the database" in shown


@pytest.mark.parametrize(
    ("hours", "told"),
    [((3, 3), "every night at 3:00, on each site's own clock"), ((1, 4), "at 1:00, at some sites as late as 4:00, on")],
)
def test_when_the_checks_are_due_is_said(cast: Cast, hours: tuple[int, int], told: str) -> None:
    """So that who sees no night yet knows when to look again."""
    for site, hour in zip((cast.ferrowick, cast.tansy_gate), hours, strict=True):
        Site.objects.filter(pk=site.pk).update(nightly_hour=hour)
    assert told in words(as_user(cast.june).get(NIGHTS))


def test_trying_again_settles_queues_and_says_so(cast: Cast) -> None:
    """A second press does nothing."""
    letter = letter_of(cast.ferrowick)
    UnreadChange.objects.all().delete()
    june, address = as_user(cast.june), reverse("letter-again", args=[letter.pk])
    assert "Ferrowick Elementary School: the check is in the queue again." in words(june.post(address, follow=True))
    assert "has settled this already" in words(june.post(address, follow=True))
    assert UnreadChange.objects.get().site == cast.ferrowick


def test_a_late_site_is_checked_again(cast: Cast) -> None:
    UnreadChange.objects.all().delete()
    page = as_user(cast.june).post(reverse("site-again", args=[cast.ferrowick.pk]), follow=True)
    assert "Ferrowick Elementary School: a check is in the queue." in words(page)
    assert UnreadChange.objects.get().site == cast.ferrowick


def test_an_administrator_of_one_site_sees_nothing_of_others(cast: Cast, ansel: Client) -> None:
    """Neither names nor numbers, nor an error that may tell of them; what is of no site is not theirs either."""
    night = night_of([cast.ferrowick, cast.tansy_gate], state=Night.State.PARTIAL)
    slice_of(night, 2, [cast.ferrowick.pk], state=NightSlice.State.FAILED, error="Ferrowick's bun", counts={})
    failed_run(cast.ferrowick, timezone.now())
    whole = slice_of(night, 3, [cast.ferrowick.pk], state=NightSlice.State.FAILED, counts={})
    letter_of(cast.ferrowick)
    letter_of(None, error="of Ferrowick")
    letter_of(cast.tansy_gate, slice=whole, error="Key (name)=(Ferrowick) is taken")
    checked(cast.tansy_gate, timedelta(hours=1))
    page = ansel.get(NIGHTS)
    assert "Ferrowick" not in page.content.decode()
    assert "1 of 1 checked" in words(page) and "Tansy Gate Daycare : The check ended in an error" in words(page)
    assert "Ferrowick's bun" in words(as_user(cast.june).get(NIGHTS))


def test_what_is_of_others_is_not_found(cast: Cast, ansel: Client) -> None:
    for address in (
        reverse("letter-again", args=[letter_of(cast.ferrowick).pk]),
        reverse("letter-again", args=[letter_of(None).pk]),
        reverse("site-again", args=[cast.ferrowick.pk]),
    ):
        assert ansel.post(address).status_code == 404
    assert DeadLetter.objects.unsettled().count() == 2


@pytest.mark.parametrize("who", ["hakim", "greta", "rosa", "ursula", "wren"])
def test_it_is_for_administrators(cast: Cast, who: str) -> None:
    assert as_user(getattr(cast, who)).get(NIGHTS).status_code == 404


def progress(page: Any) -> Any:
    return soup(page).find(id="progress")


def test_while_a_night_is_under_way_the_page_asks_again(cast: Cast) -> None:
    """Every five seconds, how far it is and how long it will go on; it stops by itself, and when one wants it to."""
    night = night_under_way([cast.ferrowick], [cast.tansy_gate])
    june = as_user(cast.june)
    asks = progress(june.get(NIGHTS))
    assert asks["hx-trigger"] == "every 5s"
    shown = june.get(asks["hx-get"])
    assert "1 of 2 checked, 1 being checked; about 60 seconds left." in " ".join(soup(shown).get_text(" ").split())
    assert progress(shown)["hx-get"] == asks["hx-get"]
    still = june.get(NIGHTS, {"still": "1"})
    assert "hx-get" not in progress(still).attrs and "Keep it up to date" in words(still)
    Night.objects.filter(pk=night.pk).update(state=Night.State.COMPLETE, closed_at=timezone.now())
    ended = june.get(asks["hx-get"])
    assert "hx-get" not in progress(ended).attrs
    assert "The night has ended." in progress(ended).get_text(), "what stands above the list was not asked again"
    assert "The night has ended." not in words(june.get(NIGHTS))


def test_whose_site_is_done_hears_that_the_night_goes_on(cast: Cast, ansel: Client) -> None:
    night_under_way([cast.tansy_gate], [cast.ferrowick])
    assert "1 of 1 checked; done here; for other sites about 60 seconds left." in words(ansel.get(NIGHTS))


def test_a_long_list_turns_its_pages(cast: Cast) -> None:
    """The part that asks again stays on its page."""
    for day in range(1, 13):
        night_of([cast.ferrowick], begun=timezone.now() - timedelta(days=day))
    june = as_user(cast.june)
    assert "Page 1 of 2" in words(june.get(NIGHTS))
    assert len(soup(june.get(NIGHTS, {"page": "2"})).select("tbody tr")) == 2


def test_times_are_those_of_the_sites(cast: Cast, ansel: Client) -> None:
    """By their clock, with its name."""
    Site.objects.update(time_zone="America/Chicago")
    begun = timezone.now() - timedelta(hours=2)
    night_of([cast.tansy_gate], begun=begun)
    local = begun.astimezone(Site.objects.get(pk=cast.tansy_gate.pk).zone)
    assert f"{local:%Y-%m-%d %H:%M %Z}" in words(ansel.get(NIGHTS))


def test_queries_do_not_grow(cast: Cast) -> None:
    """With sites, nights, letters or failures."""
    june, now = as_user(cast.june), timezone.now()

    def fill(number: int) -> None:
        site = SiteFactory.create()
        failed_run(site, now)
        letter_of(site, slice=night_of([site], begun=now - timedelta(days=number)).slices.get())

    fill(1)
    few = queries(lambda: june.get(NIGHTS))
    for number in range(2, 7):
        fill(number)
    assert queries(lambda: june.get(NIGHTS)) == few
    assert few <= 18
