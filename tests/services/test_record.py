"""The record of actions on a real PostgreSQL: tampering is found, and refused where the service owns no table."""

from __future__ import annotations

from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from tests.services.servers import Service

pytestmark = pytest.mark.services

FILL = """
from datetime import date
from roster.models import Action, ChainEnd, Enrolment, Verb
from roster.record.write import record
from tests.cast import assemble
cast = assemble()
Action.objects.all()._raw_delete("default")
ChainEnd.objects.all().delete()
Enrolment.objects.filter(child=cast.noor).update(starts_on=date(2001, 1, 1), ends_on=date(2001, 6, 30))
for number in range(40):
    site = (cast.ferrowick, cast.tansy_gate, None)[number % 3]
    record(Verb.READ, "statement 7", site=site, child=cast.noor, by=cast.hakim.pk, number=number)
"""
TAMPER = """
import random
from django.db import transaction
from roster.record.verify import faults
from tests.roster.record.tampering import TAMPERINGS
missed = []
for number in range(100):
    deal = random.Random(number)
    tampering = deal.choice(TAMPERINGS)
    with transaction.atomic():
        tampering(deal)
        if not list(faults()):
            missed.append((number, tampering.__name__))
        transaction.set_rollback(True)
print(missed, list(faults()))
"""
REFUSED = """
import random
from django.db import DatabaseError, transaction
from roster.record.verify import faults
from tests.roster.record.tampering import TAMPERINGS, copy_in
went_through = []
for tampering in dict.fromkeys(TAMPERINGS):
    if tampering is copy_in:
        continue  # adding is what the service does; the seals find what was not sealed
    for number in range(10):
        try:
            with transaction.atomic():
                tampering(random.Random(number))
                went_through.append((tampering.__name__, number))
                transaction.set_rollback(True)
        except DatabaseError:
            pass
print(went_through, list(faults()))
"""
GO_ON = """
from datetime import timedelta
from django.utils import timezone
from menus.models import Site
from roster.models import Action, Verb
from roster.record.protect import is_protected
from roster.record.purge import purge
from roster.record.verify import faults
from roster.record.write import record
site = Site.objects.get(code="ferrowick")
record(Verb.READ, "menu", site=site)
emptied = purge(site=site, before=timezone.now() + timedelta(minutes=1))
print(is_protected(), emptied == Action.objects.filter(site=site, payload="").count() > 14, list(faults()))
"""
ROLE, PASSWORD = "record_writer", "plain"


@pytest.fixture(scope="module")
def database(postgres: str) -> str:
    """The address of a database of this module's own."""
    with psycopg.connect(postgres, autocommit=True) as server:
        server.execute("CREATE DATABASE record_of_actions")
    return psycopg.conninfo.make_conninfo(postgres, dbname="record_of_actions")


def _url(postgres: str, **changed: str) -> str:
    """The address as DATABASE_URL takes it."""
    parts = psycopg.conninfo.conninfo_to_dict(postgres) | changed
    where = f"{parts['host']}:{parts.get('port', 5432)}" if not str(parts["host"]).startswith("/") else ""
    user = f"{parts.get('user', 'postgres')}:{parts.get('password', '')}"
    if where:
        return f"postgresql://{user}@{where}/{parts['dbname']}"
    return f"postgresql://{user}@{str(parts['host']).replace('/', '%2F')}:{parts.get('port', 5432)}/{parts['dbname']}"


@pytest.fixture(scope="module")
def owner(database: str, tmp_path_factory: pytest.TempPathFactory) -> Service:
    """The service as the owner of the tables, with the cast and forty entries."""
    service = Service(tmp_path_factory.mktemp("owner"), DATABASE_URL=_url(database))
    service.run("manage.py", "migrate", "-v", "0")
    service.script(FILL)
    return service


@pytest.fixture(scope="module")
def writer(owner: Service, database: str) -> Service:
    """The service as a role that owns nothing, after the record was protected for it; the same keys."""
    with psycopg.connect(database, autocommit=True) as server:
        server.execute(sql.SQL("CREATE ROLE {} LOGIN PASSWORD {}").format(sql.Identifier(ROLE), sql.Literal(PASSWORD)))
    assert f"{ROLE} may only add to it" in owner.run("manage.py", "protect_record", "--role", ROLE)
    return Service(Path(owner.data), DATABASE_URL=_url(database, user=ROLE, password=PASSWORD))


def test_a_hundred_tamperings_are_found(owner: Service) -> None:
    """As on SQLite: by the seals, whoever has the rights."""
    assert owner.script(TAMPER).splitlines()[-1] == "[] []"


def test_the_role_of_the_service_cannot_tamper(writer: Service) -> None:
    """UPDATE and DELETE are revoked, and the triggers stand behind them."""
    assert writer.script(REFUSED).splitlines()[-1] == "[] []"


def test_nor_can_the_owner_by_plain_sql(writer: Service, owner: Service) -> None:
    """The triggers hold for the owner as well, until the owner takes them off."""
    assert owner.script(REFUSED).splitlines()[-1] == "[] []"


def test_the_service_goes_on_and_a_purge_goes_through(writer: Service) -> None:
    """As the role that owns nothing: a new entry, and old ones emptied through their own door."""
    assert writer.script(GO_ON).splitlines()[-1] == "True True []"


def test_an_owner_cannot_be_kept_out(owner: Service) -> None:
    """So the command says, and leaves the database as it was."""
    with pytest.raises(AssertionError, match="owns the tables or is a superuser"):
        owner.run("manage.py", "protect_record", "--role", "postgres")
