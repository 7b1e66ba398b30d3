"""How long a teacher's treat check takes over HTTP, beside the same page without the check."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import partial
from statistics import median, quantiles
from time import perf_counter
from typing import Any

from django.utils import timezone

from compliance.benchmarks.browser import Browser, Unanswered, served
from compliance.benchmarks.told import machine
from compliance.benchmarks.world.load import require_empty
from compliance.models import TreatCheck
from menus.models import Site
from roster.models import Child, Classroom, Enrolment, Post, Restriction, Role, User

CHILDREN = 30
RESTRICTED_EVERY = 3
"""More than any real class has."""
AVOIDED = ("milk", "egg", "peanut", "soy", "wheat", "tree-nut", "sesame", "gluten", "pork", "kiwi")
NAME, PASSWORD = "benchmark-teacher", "a tray of invented cupcakes"
LABEL = (
    "Enriched flour (wheat flour, niacin, reduced iron, thiamine mononitrate, riboflavin, folic acid), sugar, "
    "palm oil, whey, cocoa ({percent} %), soy lecithin, salt, natural flavor. Contains: wheat, milk, soy. "
    "May contain tree nuts."
)
"""No two checks bring the same words: a label is read once a process."""


def treat(times: int = 200) -> dict[str, Any]:
    """Check a label for a class of thirty so many times, in turn with the bare page, and return milliseconds.

    Every check is an HTTP request of a signed-in teacher, and is kept and put on record. Raises Unanswered when one was
    not, or when the service kept another number of checks, and NotEmpty for a database that holds sites.
    """
    require_empty()
    classroom = made_class()
    kept = TreatCheck.objects.filter(classroom=classroom)
    with served() as address:
        browser = Browser()
        browser.ask(f"{address}/sign-in/", {"username": NAME, "password": PASSWORD})
        page = f"{address}/treat/"
        browser.ask(page, _said(0))  # the first one loads the lexicon
        asked: list[float] = []
        checked: list[float] = []
        token = browser.token(page)
        for number in range(1, times + 1):
            asked.append(_timed(lambda: browser.open(page)))
            checked.append(_timed(partial(browser.send, page, _said(number), token)))
    if kept.count() != times + 1:
        raise Unanswered(f"{times + 1} checks were asked and {kept.count()} kept.")
    return {"on": machine(), "children": CHILDREN, "times": times} | figures(asked, checked)


def _said(number: int) -> dict[str, str]:
    return {"when": "now", "text": LABEL.format(percent=number), "name": "Cookies", "by": "label"}


def figures(asked: Sequence[float], checked: Sequence[float]) -> dict[str, Any]:
    """Return the two as milliseconds and their ratio, from seconds."""
    page, check = (
        {"p50_ms": median(each) * 1000, "p95_ms": quantiles(each, n=20)[-1] * 1000} for each in (asked, checked)
    )
    return {
        "page": {name: round(each, 2) for name, each in page.items()},
        "check": {name: round(each, 2) for name, each in check.items()},
        "ratio_p50": round(check["p50_ms"] / page["p50_ms"], 2),
        "ratio_p95": round(check["p95_ms"] / page["p95_ms"], 2),
    }


def made_class() -> Classroom:
    """Write a class of CHILDREN with its teacher, and return it."""
    site = Site.objects.create(code="benchmark", name="Benchmark")
    classroom = Classroom.objects.create(site=site, name="Room 1")
    teacher = User(username=NAME)
    teacher.set_password(PASSWORD)
    teacher.save()
    Post.objects.create(user=teacher, role=Role.TEACHER, classroom=classroom)
    now = timezone.now()
    starts_on: date = now.date() - timedelta(days=60)
    for number in range(CHILDREN):
        child = Child.objects.create(given_name=f"Child {number}", family_name="Invented", birth_date=date(2018, 5, 1))
        Enrolment.objects.create(child=child, classroom=classroom, starts_on=starts_on)
        if number % RESTRICTED_EVERY == 0:
            avoided = AVOIDED[number // RESTRICTED_EVERY % len(AVOIDED)]
            Restriction.objects.create(child=child, substance=avoided, recorded_at=now)
    return classroom


def _timed(act: Callable[[], object]) -> float:
    begun = perf_counter()
    act()
    return perf_counter() - begun
