"""The database itself refuses edits of the record, lets a purge through, and the service goes on as before."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from roster.models import Action, ChainEnd, Enrolment, Verb
from roster.record.protect import is_protected, protect
from roster.record.purge import purge
from roster.record.verify import faults
from roster.record.write import record
from tests.cast import Cast

pytestmark = pytest.mark.skipif(connection.vendor != "sqlite", reason="tests/services has the same for PostgreSQL")


@pytest.fixture
def guarded(cast: Cast) -> Cast:
    """Some entries, protected; Noor, whom they are about, left long ago."""
    Enrolment.objects.filter(child=cast.noor).update(starts_on=date(2001, 1, 1), ends_on=date(2001, 6, 30))
    for number in range(5):
        record(Verb.READ, f"statement {number}", site=cast.ferrowick, child=cast.noor, by=cast.hakim.pk)
    protect()
    return cast


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE roster_action SET subject = 'x' WHERE id = (SELECT max(id) FROM roster_action)",
        "UPDATE roster_action SET payload = '' WHERE id = (SELECT max(id) FROM roster_action)",
        "UPDATE roster_action SET payload = '', subject = '', actor_id = NULL, child_id = NULL, verb = 'read'"
        " WHERE verb = 'recorded'",
        "DELETE FROM roster_action",
        "INSERT OR REPLACE INTO roster_action SELECT * FROM roster_action",
        "UPDATE roster_chainend SET number = 1",
        "UPDATE roster_chainend SET proof = ''",
        "DELETE FROM roster_chainend",
    ],
)
def test_what_is_refused(guarded: Cast, statement: str) -> None:
    """Plain SQL, past everything that the service does."""
    with pytest.raises(IntegrityError, match=r"record of actions|end of a chain"), transaction.atomic():
        connection.cursor().execute(statement)
    assert not list(faults())


def test_the_service_goes_on_and_a_purge_goes_through(guarded: Cast) -> None:
    """New entries are taken, old ones emptied, and what a purge recorded cannot be emptied in turn."""
    record(Verb.READ, "menu", site=guarded.ferrowick)
    assert purge(site=guarded.ferrowick, before=timezone.now() + timedelta(minutes=1)) >= 6
    assert not list(faults())
    with pytest.raises(IntegrityError), transaction.atomic():
        Action.objects.filter(verb=Verb.PURGED).update(payload="", subject="", actor=None, child=None)
    assert (
        ChainEnd.objects.get(chain=guarded.ferrowick.pk).number
        == Action.objects.filter(chain=guarded.ferrowick.pk).count()
    )


def test_whether_it_is_protected_is_known(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """The command may run twice; with one trigger gone the record is no longer protected, and the check says so."""
    assert not is_protected()
    call_command("verify_record")
    assert "run `manage.py protect_record`" in capsys.readouterr().out
    call_command("protect_record")
    call_command("protect_record")
    assert is_protected()
    connection.cursor().execute("DROP TRIGGER record_end_update")
    assert not is_protected()


def test_a_role_is_for_postgresql(db: Any) -> None:
    """SQLite has none."""
    with pytest.raises(CommandError, match="Leave --role out"):
        call_command("protect_record", role="service")
