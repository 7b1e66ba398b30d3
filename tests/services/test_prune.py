"""Pruning beside running checks, on a real PostgreSQL with real threads: nothing vanishes under a check."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.services.servers import Service

pytestmark = pytest.mark.services

FILL = "from tests.cast import assemble; assemble()"
AROUND = """
import json, threading, time
from datetime import timedelta
from django.db import connection, transaction
from django.utils import timezone
from compliance.checks import prune as pruning
from compliance.checks.prune import prune
from compliance.checks.prunelock import hold_off_pruning, may_prune
from compliance.checks.run import check_site
from compliance.models import DishVerdicts, PreparedDish, Run, ServedDish
from menus.models import Recipe, Serving, Site
pruning.REST = timedelta(seconds=-60)
site = Site.objects.get(code="ferrowick")
recipe = Recipe.objects.get(name="Yogurt cup")
def in_thread(act):
    def run():
        try:
            act()
        finally:
            connection.close()
    thread = threading.Thread(target=run)
    thread.start()
    return thread
"""
HELD = """
check_site(site=site, trigger="hand")
ServedDish.objects.all().delete()
looked, go_on, told = threading.Event(), threading.Event(), {}
def check():
    with transaction.atomic():
        hold_off_pruning()
        told["found"] = list(PreparedDish.objects.values_list("pk", flat=True))
        looked.set()
        go_on.wait(30)
        ServedDish.objects.create(serving=Serving.objects.first(), dish_id=told["found"][0])
checking = in_thread(check)
looked.wait(30)
told["meanwhile"] = prune(timezone.now(), patience=timedelta(0)).whole
go_on.set()
checking.join()
told["afterwards"] = prune(timezone.now()).whole
told["left"] = list(PreparedDish.objects.values_list("pk", flat=True))
begun, ended = threading.Event(), []
def check_later():
    begun.set()
    with transaction.atomic():
        hold_off_pruning()
        ended.append(time.monotonic())
with transaction.atomic():
    assert may_prune()
    waiting = in_thread(check_later)
    begun.wait(30)
    time.sleep(0.5)
    released = time.monotonic()
waiting.join()
told["waited"] = ended[0] >= released
print(json.dumps(told))
"""
STRESS = """
stop, errors, pruned = threading.Event(), [], []
def go_on_pruning():
    while not stop.is_set():
        try:
            pruned.append(prune(timezone.now(), patience=timedelta(seconds=1)).rows.get("prepareddish", 0))
        except Exception as error:
            errors.append(repr(error))
pruners = [in_thread(go_on_pruning) for _ in range(2)]
day = timezone.localdate() + timedelta(days=3)
hashes = set()
for number in range(25):
    serving = Serving.objects.create(site=site, date=day, meal="snack", recipe=recipe)
    try:
        check_site(site=site, trigger="hand")
        stands = ServedDish.objects.get(serving=serving)
        run = Run.objects.newest_for(site)
        if not DishVerdicts.objects.filter(dish=stands.dish, panel=run.panel).exists():
            errors.append("no verdicts")
    except Exception as error:
        errors.append(repr(error))
    ServedDish.objects.filter(serving=serving).delete()
    Serving.objects.filter(pk=serving.pk).update(withdrawn_at=timezone.now())
stop.set()
for each in pruners:
    each.join()
print(json.dumps({"errors": errors, "pruned": sum(pruned)}))
"""


@pytest.fixture(scope="module")
def service(postgres: str, tmp_path_factory: pytest.TempPathFactory) -> Service:
    with psycopg.connect(postgres, autocommit=True) as connection:
        connection.execute("CREATE DATABASE pruning")
    where = urlsplit(postgres)._replace(path="/pruning").geturl()
    service = Service(Path(tmp_path_factory.mktemp("pruning")), DATABASE_URL=where)
    service.run("manage.py", "migrate", "--verbosity", "0")
    service.script(FILL)
    return service


def told(service: Service, code: str) -> dict[str, Any]:
    said: dict[str, Any] = json.loads(service.script(AROUND + code).splitlines()[-1])
    return said


def test_what_a_check_is_about_to_point_to_stays(service: Service) -> None:
    """Pruning gives way while a check holds what is stored; a check waits for the batch that is under way."""
    said = told(service, HELD)
    assert said["found"]
    assert (said["meanwhile"], said["afterwards"], said["waited"]) == (False, True, True)
    assert said["left"] == said["found"][:1], "the dish pointed to stays, the others go"


def test_checks_and_prunings_go_on_side_by_side(service: Service) -> None:
    """A dish that leaves the menu and comes back, again and again, with two prunings after it all the time."""
    said = told(service, STRESS)
    assert said["errors"] == []
    assert said["pruned"] > 0, "else they never met"
