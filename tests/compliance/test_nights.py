"""`manage.py nights`: the last nights and what wants somebody, with an exit code that a timer can act on."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from compliance.models import CheckedDay, Night, OutgoingMail
from menus.models import Site
from tests.cast import Cast
from tests.compliance.operations.rows import failed_run, letter_of, night_of, run_of

pytestmark = pytest.mark.django_db


def checked(*sites: Site) -> None:
    """Each site's plan of today stands by a check of an hour ago."""
    now = timezone.now()
    for site in sites:
        run = run_of(site, now - timedelta(hours=1))
        CheckedDay.objects.create(site=site, day=now.astimezone(site.zone).date(), run=run)


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_a_good_night_wants_nobody(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 0."""
    checked(cast.ferrowick, cast.tansy_gate)
    night_of([cast.ferrowick, cast.tansy_gate], size=1)
    call_command("nights")
    told = said(capsys)
    assert "Complete" in told and "2 of 2 checked" in told and "2 done" in told and "2 minutes" in told
    assert told.endswith("Every site was checked in time, and no work was given up.")


def test_what_wants_somebody_is_told_and_fails(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """Late sites, letters and mails given up, each with what to do."""
    checked(cast.tansy_gate)
    letter_of(cast.tansy_gate, attempts=5)
    night_of([cast.tansy_gate], state=Night.State.PARTIAL)
    now = timezone.now()
    OutgoingMail.objects.create(
        kind="digest", to=cast.june, about="x", subject="x", made_at=now, next_try_at=now, given_up_at=now
    )
    with pytest.raises(CommandError, match="want somebody: 3"):
        call_command("nights")
    told = said(capsys)
    assert "For today Ferrowick Elementary School was never checked. No check of it has come to an end" in told
    assert "Tansy Gate Daycare: The check ended in an error (0 seconds ago, after 5 tries). Mend what" in told
    assert "Mails that were given up: 1. The page Mail says why." in told


def test_words_of_an_error_are_not_printed(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """A timer mails what is printed, and a database repeats the row that it refused."""
    checked(cast.tansy_gate)
    run = failed_run(cast.ferrowick, timezone.now(), error="IntegrityError: Key (name)=(Noor Example) is taken")
    letter_of(cast.ferrowick, error="IntegrityError: Key (name)=(Noor Example) is taken")
    with pytest.raises(CommandError, match="want somebody: 2"):
        call_command("nights")
    told = said(capsys)
    assert f"Its check failed; the page of run {run.pk} says why." in told and "Noor" not in told


def test_as_many_nights_as_asked_for(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    checked(cast.ferrowick, cast.tansy_gate)
    for day in range(1, 5):
        night_of([cast.ferrowick], begun=timezone.now() - timedelta(days=day))
    call_command("nights", last=2)
    assert said(capsys).count("1 of 1 checked") == 2


def test_a_name_with_brackets_is_printed_as_it_is(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """And styles nothing."""
    Site.objects.filter(pk=cast.ferrowick.pk).update(name="Ferrowick [bold]Annex[/bold]")
    with pytest.raises(CommandError):
        call_command("nights")
    assert "Ferrowick [bold]Annex[/bold] was never checked" in said(capsys)


def test_a_long_list_is_cut(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """With how many more there are; all of them count."""
    for number in range(22):
        Site.objects.create(code=f"site-{number}", name=f"Site {number}", time_zone="UTC")
    with pytest.raises(CommandError, match="want somebody: 24"):
        call_command("nights")
    assert "and 4 more of the kind" in said(capsys)
