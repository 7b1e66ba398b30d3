"""The nightly check when things go wrong: a late menu, a second run, a crash, the night of two one-o'clocks."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from compliance.checks.coverage import coverage
from compliance.checks.schedule import last_due, missed
from compliance.models import DishVerdicts, OutgoingMail, Referral, Run
from roster.models import Role
from tests.factories import PostFactory, RecipeFactory, SiteFactory, cooked, labelled
from tests.nights import complete, nightly
from tests.scenarios.stage import Stage
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")


def test_s83_menu_came_after_the_night() -> None:
    """S83. Basis: design. A dish that no run has read is told as not checked, to kitchen and teacher."""
    stage = Stage.set()
    stage.child("peanut")
    stage.serve(cooked("Rice", labelled("rice")))
    nightly(stage.site)
    late = stage.serve(cooked("Satay", labelled("peanuts")))
    (told,) = coverage([stage.site], stage.today, stage.today)
    assert told.unchecked == 1
    cook = PostFactory(role=Role.KITCHEN, site=stage.site).user
    assert "Not checked yet" in words(as_user(cook).get(f"/servings/{late.pk}/"))
    assert "Not checked yet" in words(as_user(stage.teacher).get("/today/"))
    nightly(stage.site)
    (told,) = coverage([stage.site], stage.today, stage.today)
    assert told.unchecked == 0
    assert "Not checked yet" not in words(as_user(stage.teacher).get("/today/"))


def test_s84_the_night_runs_twice() -> None:
    """S84. Basis: design. The second run adds no question, no verdict and no mail."""
    stage = Stage.set()
    stage.child("peanut")
    PostFactory(role=Role.KITCHEN, site=stage.site)
    stage.serve(RecipeFactory(name="Surprise"))
    nightly(stage.site)
    before = (Referral.objects.count(), DishVerdicts.objects.count(), OutgoingMail.objects.count())
    assert before == (1, 1, 1)
    nightly(stage.site)
    assert (Referral.objects.count(), DishVerdicts.objects.count(), OutgoingMail.objects.count()) == before
    assert Run.objects.complete().count() == 2


def test_s85_cut_off_half_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """S85. Basis: design. Nothing half written: old answers stand, the run says why, the next takes over."""
    stage = Stage.set()
    child = stage.child("peanut")
    stage.serve(cooked("Satay", labelled("peanuts")))
    nightly(stage.site)
    stage.serve(cooked("Rice", labelled("rice, peanut flour")))
    with monkeypatch.context() as broken:
        broken.setattr("compliance.checks.slices.ask_for", fail)
        assert nightly(stage.site).counts == {"checked": 0, "busy": 0, "failed": 1}
    assert stage.met() == {(child.pk, "Satay", "peanut", "withhold")}
    assert Run.objects.get(state=Run.State.FAILED).error == "OSError: power failure"
    nightly(stage.site)
    assert {dish for _, dish, _, _ in stage.met()} == {"Satay", "Rice"}


def fail(*_: object) -> int:
    raise OSError("power failure")


def test_s86_the_night_of_two_one_o_clocks() -> None:
    """S86. Basis: design; IANA time zone data, 1 November 2026, Chicago. 01:00 comes twice, the check once."""
    site = SiteFactory(time_zone="America/Chicago", nightly_hour=1)
    once = datetime(2026, 11, 1, 1, 0, tzinfo=CHICAGO)
    again = once.replace(fold=1)
    assert again.timestamp() - once.timestamp() == 3600
    due = {last_due(site, moment).timestamp() for moment in (once, again, again + timedelta(minutes=30))}
    assert due == {once.timestamp()}
    complete(site, once + timedelta(minutes=1))
    assert not missed(site, again + timedelta(minutes=1))
    assert missed(site, datetime(2026, 11, 2, 1, 1, tzinfo=CHICAGO))
