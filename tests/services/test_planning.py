"""Planning and an ordinary action at one site at the same moment, on a real PostgreSQL with real threads."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.services.servers import Service

pytestmark = pytest.mark.services

FILL = "from tests.cast import assemble; assemble()"
MEET = """
import json, threading, time
from django.db import connection, transaction
from django.utils import timezone
from menus.models import Recipe, Serving, Site
from menus.services import servings
from roster.models import Verb
from roster.record import write

site, recipe, day = Site.objects.get(code="ferrowick"), Recipe.objects.first(), timezone.localdate()
at_the_end, planning, said = threading.Event(), threading.Event(), []

def changes(held, first, last):
    planning.set()
    return {site.pk: servings._Change(new=[Serving(site=site, date=day, meal="supper", recipe=recipe)])}

def plan():
    at_the_end.wait(30)
    return servings.plan_all(sites=[site], first=day, last=day)

@transaction.atomic
def act():
    write._ends_of({site.pk})
    at_the_end.set()
    planning.wait(30)
    time.sleep(0.5)
    return write.record(Verb.CHECKED, "something", site=site) and 1

def one(do):
    try:
        said.append(do())
    except Exception as error:
        said.append(repr(error))
    finally:
        connection.close()

servings._changes = changes
threads = [threading.Thread(target=one, args=(do,)) for do in (plan, act)]
for each in threads:
    each.start()
for each in threads:
    each.join()
print(json.dumps(said))
"""


@pytest.fixture(scope="module")
def service(postgres: str, tmp_path_factory: pytest.TempPathFactory) -> Service:
    with psycopg.connect(postgres, autocommit=True) as connection:
        connection.execute("CREATE DATABASE planning")
    where = urlsplit(postgres)._replace(path="/planning").geturl()
    service = Service(Path(tmp_path_factory.mktemp("planning")), DATABASE_URL=where)
    service.run("manage.py", "migrate", "--verbosity", "0")
    service.script(FILL)
    return service


def test_they_do_not_wait_for_each_other_in_a_ring(service: Service) -> None:
    """Who plans holds the site and wants its record; who acts holds the record, and its entry names the site."""
    assert json.loads(service.script(MEET).splitlines()[-1]) == [1, 1]
