"""When the nightly check of a site is due, and that beat's rows say the same."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django_celery_beat.models import PeriodicTask

from compliance.checks.night import check_and_tell
from compliance.checks.schedule import TASK, last_due, missed, schedule_all
from compliance.models import Run
from compliance.tasks import catch_up, nightly
from menus.models import Site
from tests.cast import Cast
from tests.factories import SiteFactory

pytestmark = pytest.mark.django_db


def rows() -> dict[str, tuple[str, str, bool]]:
    """Return hour, zone and whether it is on, for each scheduled site."""
    tasks = PeriodicTask.objects.filter(task=TASK).select_related("crontab")
    return {task.args: (task.crontab.hour, str(task.crontab.timezone), task.enabled) for task in tasks}


def test_a_new_site_is_scheduled_at_the_usual_hour_of_its_own_clock() -> None:
    """Beat reads the row; nobody has to add it."""
    site = SiteFactory(time_zone="America/Denver")
    assert rows() == {f"[{site.pk}]": ("2", "America/Denver", True)}


def test_the_schedule_follows_the_site() -> None:
    """A changed hour or zone changes the row, and never adds a second one."""
    site = SiteFactory(time_zone="America/Denver")
    site.nightly_hour, site.time_zone, site.code = 0, "Europe/Dublin", "moved"
    site.save()
    assert rows() == {f"[{site.pk}]": ("0", "Europe/Dublin", True)}


def test_the_schedule_follows_the_settings_at_the_next_start(settings) -> None:
    """Sites with an hour of their own keep it."""
    usual, own = SiteFactory(), SiteFactory(nightly_hour=4)
    settings.NIGHTLY_HOUR = 1
    schedule_all()
    assert {args: row[0] for args, row in rows().items()} == {f"[{usual.pk}]": "1", f"[{own.pk}]": "4"}


def test_the_task_by_its_scheduled_name_is_the_nightly_check() -> None:
    """A renamed task would never be called, and nobody would hear of it."""
    assert nightly.name == TASK


@pytest.mark.parametrize(
    ("zone", "now", "due"),
    [
        ("America/Chicago", "2026-09-07T12:00", "2026-09-07T07:00"),  # 02:00 CDT
        ("America/Chicago", "2026-09-07T06:59", "2026-09-06T07:00"),  # a minute before it
        ("America/Chicago", "2026-09-07T07:00", "2026-09-07T07:00"),  # on the minute
        ("America/Chicago", "2026-12-07T12:00", "2026-12-07T08:00"),  # 02:00 CST
        ("America/Chicago", "2027-03-14T12:00", "2027-03-14T08:00"),  # the night without a 02:00
        ("America/New_York", "2026-11-01T12:00", "2026-11-01T07:00"),  # the night with 01:00 twice
        ("Pacific/Auckland", "2026-09-07T15:00", "2026-09-07T14:00"),  # already tomorrow there
    ],
)
def test_due_on_the_clock_of_the_site(zone: str, now: str, due: str) -> None:
    """Source: IANA time zone database, by zoneinfo; US daylight time begins 2027-03-14 and ends 2026-11-01."""
    site = Site(code="x", name="X", time_zone=zone)
    assert last_due(site, datetime.fromisoformat(now + "+00:00")) == datetime.fromisoformat(due + "+00:00")


class TestCatchUp:
    """What is started when beat starts, and every few minutes."""

    @pytest.fixture
    def queued(self, monkeypatch: pytest.MonkeyPatch) -> list[int]:
        """Sites whose nightly check was put on the queue."""
        sites: list[int] = []
        monkeypatch.setattr(nightly, "delay", sites.append)
        return sites

    def test_sites_never_checked(self, cast: Cast, queued: list[int]) -> None:
        """Both of the cast's sites are new."""
        catch_up()
        assert set(queued) == {cast.ferrowick.pk, cast.tansy_gate.pk}

    def test_a_site_checked_since_it_was_due_is_left(self, cast: Cast, queued: list[int]) -> None:
        """By whatever started the check."""
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        catch_up()
        assert queued == [cast.tansy_gate.pk]

    def test_a_site_whose_night_has_come_again(self, cast: Cast) -> None:
        """Yesterday's check does not do for today."""
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
        assert not missed(cast.ferrowick, datetime.now(UTC))
        assert missed(cast.ferrowick, datetime.now(UTC) + timedelta(days=1))

    def test_a_check_of_fewer_days_does_not_do(self, cast: Cast, settings) -> None:
        """A look at the next two days leaves the rest of the window unseen."""
        settings.NIGHTLY_WINDOW_DAYS = 2
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        settings.NIGHTLY_WINDOW_DAYS = 14
        assert missed(cast.ferrowick, datetime.now(UTC))

    def test_a_check_that_failed_is_tried_again_after_an_hour(self, cast: Cast, queued: list[int]) -> None:
        """Not every few minutes: what failed now would fail again."""
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
        Run.objects.update(state=Run.State.FAILED)
        catch_up()
        assert queued == [cast.tansy_gate.pk]

        Run.objects.update(started_at=datetime.now(UTC) - timedelta(hours=1, minutes=1))
        queued.clear()
        catch_up()
        assert set(queued) == {cast.ferrowick.pk, cast.tansy_gate.pk}
