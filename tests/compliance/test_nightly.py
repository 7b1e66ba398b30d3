"""The nightly check: what it finds, that it may run twice, that one site is checked once at a time, and by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from compliance.checks import slices
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.night import check_and_tell
from compliance.checks.run import SiteBusy
from compliance.models import (
    CheckedDay,
    DeadLetter,
    DishVerdicts,
    Night,
    PreparedDish,
    Referral,
    Run,
    RunRestriction,
    ServedDish,
)
from menus.models import Serving, Site
from tests.cast import Cast
from tests.nights import nightly

pytestmark = pytest.mark.django_db

KEPT = (CheckedDay, DishVerdicts, PreparedDish, Referral, RunRestriction, ServedDish, Serving)


def met(site: Site) -> set[tuple[str, str, str]]:
    """Return who meets what at the site in the coming two weeks."""
    today = timezone.now().astimezone(site.zone).date()
    asked = ExceptionFilter(first=today - timedelta(days=1), last=today + timedelta(days=13), site=site)
    return {(row.child.given_name, row.dish, row.outcome.code) for row in find_exceptions(None, asked)}


def under_way(site: Site) -> Run:
    """Write a run of the site that has begun and has not ended."""
    today = timezone.localdate()
    return Run.objects.create(site=site, trigger="night", as_of=timezone.now(), first_day=today, last_day=today)


def poisoned(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have every check fail that holds the site."""
    judge = slices.judge_sites

    def fail(sites: Sequence[Site], *args: Any) -> Any:
        if site in sites:
            raise RuntimeError("out of buns")
        return judge(sites, *args)

    monkeypatch.setattr(slices, "judge_sites", fail)


def test_finds_what_the_children_of_the_site_meet(cast: Cast) -> None:
    """Each child with a restriction meets exactly the dishes that hold it; the others meet nothing."""
    nightly(cast.tansy_gate)

    assert met(cast.tansy_gate) == {("Ravi", "Yogurt cup", "withhold")}
    assert met(cast.ferrowick) == set(), "the other site was not asked for"


def test_looks_as_many_days_ahead_as_the_settings_say(cast: Cast, settings) -> None:
    """Both ends included, counted from today on the site's clock."""
    settings.NIGHTLY_WINDOW_DAYS = 5
    nightly(cast.ferrowick)
    run = Run.objects.get()
    assert run.first_day == run.as_of.astimezone(cast.ferrowick.zone).date()
    assert run.last_day == run.first_day + timedelta(days=4)
    assert run.trigger == Run.Trigger.NIGHT


def test_running_twice_changes_nothing(cast: Cast) -> None:
    """The second run says that it found the same, and adds no row but itself."""
    nightly(cast.ferrowick)
    before = {model: model.objects.count() for model in KEPT}

    nightly(cast.ferrowick)

    first, second = Run.objects.order_by("pk")
    assert second.same_as == first
    assert second.result_hash == first.result_hash
    assert {model: model.objects.count() for model in KEPT} == before


def test_a_site_under_check_is_left_to_the_one_who_checks_it(cast: Cast) -> None:
    """Its slice waits, saying why, and fails nothing."""
    other = under_way(cast.ferrowick)
    night = nightly(cast.ferrowick)

    part = night.slices.get()
    assert (part.state, night.state) == ("waiting", "running")
    assert "Ferrowick Elementary School is being checked at this moment" in part.error
    assert list(Run.objects.all()) == [other]


def test_a_check_that_somebody_stops_does_not_bar_the_next(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C ends the run as failed, at once."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr("compliance.checks.slices.judge_sites", interrupt)
        call_command("nightly", site="ferrowick")
    nightly(cast.ferrowick)

    assert list(Run.objects.order_by("pk").values_list("state", flat=True)) == ["failed", "complete"]


def test_a_check_that_fails_is_kept_as_failed_and_stores_nothing(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """The run says what happened; what stood before stands."""
    nightly(cast.tansy_gate)
    before = met(cast.tansy_gate)

    def fail(*_: object) -> None:
        raise RuntimeError("out of buns")

    monkeypatch.setattr("compliance.checks.slices.store_verdicts", fail)
    Serving.objects.filter(site=cast.tansy_gate).update(withdrawn_at=timezone.now())
    night = nightly(cast.tansy_gate)
    Serving.objects.filter(site=cast.tansy_gate).update(withdrawn_at=None)

    run = Run.objects.order_by("-pk")[0]
    assert (run.state, run.error) == ("failed", "RuntimeError: out of buns")
    assert night.state == "partial"
    letter = DeadLetter.objects.get()
    assert (letter.site, letter.error) == (cast.tansy_gate, "RuntimeError: out of buns")
    assert met(cast.tansy_gate) == before


class TestByHand:
    """`manage.py nightly`."""

    def test_checks_every_site_and_says_what_it_found(self, cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
        """One line a site."""
        call_command("nightly")
        said = " ".join(capsys.readouterr().out.split())
        assert "Ferrowick Elementary School, " in said
        assert "Servings 1, dishes 1, children with restrictions 2. Verdicts: withhold 1, refer 0" in said
        assert {run.trigger for run in Run.objects.complete()} == {Run.Trigger.HAND}
        assert Run.objects.complete().count() == 2

    def test_checks_one_site_from_one_day(self, cast: Cast) -> None:
        """As asked for."""
        call_command("nightly", site="tansy-gate", date="2026-09-07")
        run = Run.objects.get()
        assert (run.site, run.first_day) == (cast.tansy_gate, date(2026, 9, 7))

    @pytest.mark.parametrize(
        ("options", "why"),
        [
            ({"site": "elm"}, "There is no site 'elm'. Give one of: ferrowick, tansy-gate."),
            ({"date": "7.9.2026"}, "'7.9.2026' is no date. Give it as 2026-09-01"),
            ({"date": "2026-02-30"}, "'2026-02-30' is no date"),
        ],
    )
    def test_refuses_what_it_does_not_know(self, cast: Cast, options: dict[str, str], why: str) -> None:
        """With what to write instead."""
        with pytest.raises(CommandError) as refusal:
            call_command("nightly", **options)
        assert str(refusal.value).startswith(why)
        assert not Run.objects.exists()

    def test_says_how_to_begin_where_there_is_no_site(self) -> None:
        """An empty database is no error of the operator's."""
        with pytest.raises(CommandError, match=r"There is no site yet\. Add one"):
            call_command("nightly")

    def test_fails_when_nothing_could_be_checked(self, cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
        """So that a script notices."""
        under_way(cast.ferrowick)
        with pytest.raises(CommandError, match="Nothing was checked"):
            call_command("nightly", site="ferrowick")
        assert "Ferrowick Elementary School is being checked by somebody else" in " ".join(
            capsys.readouterr().out.split()
        )

    def test_fails_when_a_site_could_not_be_checked(
        self, cast: Cast, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The others were; which one and why stands above."""
        poisoned(cast.tansy_gate, monkeypatch)
        with pytest.raises(CommandError, match="1 of 2 sites were not checked"):
            call_command("nightly")
        said = " ".join(capsys.readouterr().out.split())
        assert "Tansy Gate Daycare could not be checked: RuntimeError: out of buns" in said
        assert "Ferrowick Elementary School, " in said
        assert Night.objects.get().counts == {"checked": 1, "busy": 0, "failed": 1}

    def test_many_sites_are_told_of_together(
        self, cast: Cast, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """In one line."""
        monkeypatch.setattr("compliance.management.commands.nightly.EACH_IN_A_LINE", 1)
        call_command("nightly")
        assert "2 of 2 sites were checked." in " ".join(capsys.readouterr().out.split())


def test_somebody_who_asks_for_a_busy_site_is_told(cast: Cast) -> None:
    """The service below the commands refuses too."""
    under_way(cast.ferrowick)
    with pytest.raises(SiteBusy):
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND)
