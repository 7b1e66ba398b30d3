"""Eight people at one version at the same moment, in real threads on SQLite and on PostgreSQL: one of them saves.

The others are shown both versions, and nothing else comes of it: no error of the database, no second next version.
"""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.services.servers import Service

pytestmark = pytest.mark.services

FILL = "from tests.cast import assemble; assemble()"
RACE = """
import json, threading
from django.db import connection
from django.utils import timezone
from menus.models import Label, Product
from menus.services.labels import StaleLabel, record_label
from roster.models import Restriction
from roster.services import StaleVersion, record_restriction

PEOPLE = 8
seen = Restriction.objects.get(child__given_name="Kofi", substance="egg")
bread = Product.objects.get(name="Sandwich bread")

def restrict(number):
    newer = record_restriction(child=seen.child, substance="egg", replaces=seen, note=f"by {number}")
    return newer.number

def read(number):
    return record_label(product=bread, ingredients=f"flour {number}", seen_on=timezone.localdate(), after=1).number

def race(act):
    start, said = threading.Barrier(PEOPLE), []
    def one(number):
        try:
            start.wait()
            said.append(f"saved {act(number)}")
        except (StaleVersion, StaleLabel) as stale:
            said.append(f"stale {stale.newer.number}")
        except Exception as error:
            said.append(repr(error))
        finally:
            connection.close()
    people = [threading.Thread(target=one, args=[number]) for number in range(PEOPLE)]
    for each in people:
        each.start()
    for each in people:
        each.join()
    return sorted(said)

told = {"restriction": race(restrict), "label": race(read)}
told["next versions"] = Restriction.objects.filter(replaces=seen).count()
told["labels"] = list(Label.objects.filter(product=bread).order_by("number").values_list("number", flat=True))
print(json.dumps(told))
"""
ONE_OF_EIGHT = ["saved 2", *["stale 2"] * 7]


def a_database(server: str) -> str:
    """The address of a database of one's own on the server."""
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute("CREATE DATABASE two_people")
    return urlsplit(server)._replace(path="/two_people").geturl()


@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_one_of_eight_saves_and_the_others_are_told(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    where = {"DATABASE_URL": a_database(request.getfixturevalue("postgres"))} if kind == "postgres" else {}
    service = Service(tmp_path, **where)
    service.run("manage.py", "migrate", "--verbosity", "0")
    service.script(FILL)
    assert json.loads(service.script(RACE).splitlines()[-1]) == {
        "restriction": ONE_OF_EIGHT,
        "label": ONE_OF_EIGHT,
        "next versions": 1,
        "labels": [1, 2],
    }
