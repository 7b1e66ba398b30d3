"""The figures: right, complete, in constant queries, and about nobody."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from prometheus_client import generate_latest
from prometheus_client.parser import text_string_to_metric_families

from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import CheckedDay, Night, OutgoingMail, Referral, Run, UnreadChange
from compliance.operations import metrics
from compliance.operations.metrics import PREFIX, registry
from menus.models import Site
from tests.cast import Cast
from tests.compliance.operations.rows import failed_run, letter_of, night_of, night_under_way, run_of
from tests.factories import SiteFactory, UserFactory
from tests.web.pages import queries

pytestmark = pytest.mark.django_db


def text() -> str:
    """What Prometheus reads."""
    return generate_latest(registry()).decode()


def figures() -> dict[tuple[str, ...], float]:
    """Each figure by its name, without the prefix, and its labels: read by the client library's own parser."""
    return {
        (sample.name.removeprefix(PREFIX), *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(text())
        for sample in family.samples
    }


def mail(**how: Any) -> OutgoingMail:
    now = timezone.now()
    made = {"kind": "digest", "subject": "x", "made_at": now, "next_try_at": now, "about": str(how)}
    return OutgoingMail.objects.create(to=UserFactory.create(), **made | how)


def test_a_service_without_anything_has_figures_all_the_same() -> None:
    """Nothing is missing that an alert could wait for; only of nights that never were nothing is said."""
    found = figures()
    assert found["sites",] == found["sites_overdue",] == found["dead_letters_open",] == 0
    assert found["nights", "running"] == found["night_slices", "failed"] == found["runs", "failed"] == 0
    assert found["mails", "given_up"] == found["oldest_waiting_mail_age_seconds",] == 0
    assert found["broker_up",] == 1 and found["queue_messages", "celery"] == 0
    assert not any(name[0].startswith("last_complete_night") for name in found)


def test_every_figure_has_the_prefix_and_says_what_it_is() -> None:
    """As the naming conventions of Prometheus want it."""
    families = list(text_string_to_metric_families(text()))
    assert families and all(each.name.startswith(PREFIX) and each.documentation for each in families)


def test_nights_and_slices() -> None:
    """By state, of a day; the last complete night with its end and its length."""
    site, now = SiteFactory.create(), timezone.now()
    night_of([site], begun=now - timedelta(days=3))
    last = night_of([site], begun=now - timedelta(hours=20))
    night_of([site], begun=now - timedelta(hours=2), state=Night.State.PARTIAL)
    night_of([site], begun=now - timedelta(hours=1), trigger=Run.Trigger.HAND)
    night_under_way([site], [site], [site])
    found = figures()
    assert [found["nights", state] for state in ("complete", "partial", "running")] == [2, 1, 1]
    assert 60 <= found["oldest_night_under_way_age_seconds",] < 120
    assert [found["night_slices", state] for state in ("done", "running", "waiting")] == [4, 1, 1]
    assert last.closed_at and found["last_complete_night_timestamp_seconds",] == last.closed_at.timestamp()
    assert found["last_complete_night_duration_seconds",] == 120


def test_runs_of_a_day_by_state() -> None:
    """One older than that does not count."""
    site, now = SiteFactory.create(), timezone.now()
    run_of(site, now - timedelta(hours=1))
    failed_run(site, now - timedelta(hours=2))
    failed_run(site, now - timedelta(hours=25))
    assert {state: figures()["runs", state] for state in Run.State} == {"complete": 1, "failed": 1, "running": 0}


def checked(site: Site, ago: timedelta) -> None:
    now = timezone.now()
    CheckedDay.objects.create(site=site, day=now.astimezone(site.zone).date(), run=run_of(site, now - ago))


def test_sites_are_counted_and_named_by_code_only_if_asked(settings: Any) -> None:
    """The code says where; the name would say it to everybody."""
    checked(SiteFactory.create(code="ferrowick", name="Ferrowick Elementary School"), timedelta(hours=3))
    checked(SiteFactory.create(code="tansy-gate"), timedelta(hours=40))
    found = figures()
    assert (found["sites",], found["sites_overdue",]) == (2, 1)
    age = timezone.now().timestamp() - found["oldest_check_timestamp_seconds",]
    assert abs(age - 40 * 3600) < 60
    assert "ferrowick" not in text()
    settings.METRICS_BY_SITE = True
    assert ("site_checked_timestamp_seconds", "ferrowick") in figures()
    assert "Ferrowick" not in text()


def test_mail_changes_letters_and_questions(cast: Cast) -> None:
    """What waits, for how long, and what was given up."""
    now = timezone.now()
    mail(made_at=now - timedelta(minutes=10))
    mail()
    mail(given_up_at=now, made_at=now - timedelta(days=2))
    mail(sent_at=now, made_at=now - timedelta(days=3))
    letter_of(cast.ferrowick)
    UnreadChange.objects.all().delete()
    UnreadChange.objects.create(site=cast.ferrowick, noted_at=now - timedelta(minutes=5))
    UnreadChange.objects.create()
    found = figures()
    assert (found["mails", "waiting"], found["mails", "given_up"]) == (2, 1)
    assert 600 <= found["oldest_waiting_mail_age_seconds",] < 660
    assert (found["dead_letters_open",], found["unread_changes",]) == (1, 2)
    assert 300 <= found["oldest_unread_change_age_seconds",] < 360


def test_a_broker_that_is_away_is_a_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    """The others are told all the same."""
    monkeypatch.setattr(metrics, "queue_lengths", lambda: None)
    found = figures()
    assert found["broker_up",] == 0 and ("sites",) in found
    assert not any(name[0] == "queue_messages" for name in found)


def test_no_figure_is_about_anybody(cast: Cast, settings: Any) -> None:
    """After a whole night of the cast: no child, no dish, no person, no place by its name."""
    settings.METRICS_BY_SITE = True
    for site in (cast.ferrowick, cast.tansy_gate):
        check_site(site=site, trigger=Run.Trigger.NIGHT)
    check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    said = text()
    assert figures()["referrals_waiting",] == Referral.objects.waiting().count() > 0
    for name in ("Noor", "Kofi", "Ferrowick", "Tansy", "Oat bar", "sesame", "june", "hakim"):
        assert name not in said


def test_queries_do_not_grow() -> None:
    """One site, night, run and mail, or eight of each."""
    few = None
    for number in range(8):
        site = SiteFactory.create()
        checked(site, timedelta(hours=1))
        night_of([site], begun=timezone.now() - timedelta(hours=number + 2))
        letter_of(site)
        mail(about=str(number))
        few = few or queries(text)
    assert queries(text) == few == 10
