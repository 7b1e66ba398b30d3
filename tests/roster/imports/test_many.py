"""A class list of a district: its children are written many at once, and all is checked and recorded as one by one."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from menus.imports.plan import ImportPlan, ImportRefused
from roster.models import Action, Child, Enrolment, Verb
from tests.factories import ChildFactory, SiteFactory
from tests.roster.imports.packages import Files, plan, sample, with_row

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _sites() -> None:
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


def with_children(number: int) -> Files:
    """The sample, and so many more children in a class of it."""
    files = sample()
    for each in range(number):
        files = with_row(files, "users.csv", "usr-1", sourcedId=f"more-{each}", givenName=f"Child {each}")
        files = with_row(files, "enrollments.csv", "enr-1", sourcedId=f"in-{each}", userSourcedId=f"more-{each}")
    return files


def queries(made: ImportPlan) -> int:
    with CaptureQueriesContext(connection) as caught:
        made.save()
    return len(caught)


def test_the_queries_do_not_grow_with_the_children() -> None:
    """Ten a child made a minute of a district."""
    few = plan(with_children(3))
    assert few.summary == "classroom: 3 new; child: 8 new; enrolment: 9 new"
    first = queries(few)
    many = plan(with_children(43))
    assert many.summary.startswith("classroom: 3 unchanged; child: 40 new")
    assert queries(many) < first


def test_nor_do_those_of_a_year_that_moves_up() -> None:
    """Every child leaves one class and comes into another; each end stands in the entry with what was before."""
    plan(with_children(40)).save()
    moved = with_children(40)
    rows = moved["enrollments.csv"].decode().splitlines()
    header = rows[0].split(",")
    at, begins = header.index("classSourcedId"), header.index("beginDate")
    for number, row in enumerate(rows):
        cells = row.split(",")
        if cells[0].startswith("in-"):
            cells[at], cells[begins] = "cls-s" if cells[at] == "cls-w" else "cls-w", "2026-10-15"
            rows[number] = ",".join(cells)
    made = plan({**moved, "enrollments.csv": "\r\n".join(rows).encode()})
    assert "enrolment: 40 new, 40 ended" in made.summary and not made.problems
    assert queries(made) < 60
    said = json.loads(Action.objects.filter(verb=Verb.IMPORTED).latest("pk").payload)["said"]
    assert len(said["changed"]) == len(said["made"]["enrolment"]) == 40
    assert said["changed"][0]["before"] == {"ends_on": None} and said["changed"][0]["after"]["ends_on"]


def test_every_row_stands_in_the_entry_of_the_import() -> None:
    """By its number, as if it had been written by itself."""
    plan(with_children(20)).save()
    entry = Action.objects.filter(verb=Verb.IMPORTED).get()
    made = json.loads(entry.payload)["said"]["made"]
    assert sorted(made["child"]) == sorted(Child.objects.values_list("pk", flat=True))
    assert sorted(made["enrolment"]) == sorted(Enrolment.objects.values_list("pk", flat=True))


def test_a_child_brought_by_somebody_else_meanwhile_stops_all_of_it() -> None:
    """The database has the last word on who is who; nothing is written."""
    made = plan(with_children(2))
    redraft = made.redraft

    def and_somebody_else() -> Any:
        draft = redraft()
        ChildFactory(source="QUILL", source_id="more-1")
        return draft

    late = ImportPlan(made.kind, made.draft, and_somebody_else, made.digest)
    with pytest.raises(ImportRefused, match="Nothing was saved"):
        late.save()
    assert not Child.objects.exists() and not Action.objects.filter(verb=Verb.IMPORTED).exists()


def test_a_row_that_no_field_takes_stops_all_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was read is looked at once more before it is written."""
    made = plan(with_children(2))

    def refuse(self: Child, exclude: Any = None) -> None:
        if self.source_id == "more-1":
            raise ValidationError({"given_name": "This name is too long."})

    monkeypatch.setattr(Child, "clean_fields", refuse)
    with pytest.raises(ImportRefused, match="This name is too long"):
        made.save()
    assert not Child.objects.exists()
