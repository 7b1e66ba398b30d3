"""Restrictions out of a file: it adds and strengthens, and never takes away."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from menus.imports.plan import ImportPlan, plan_rows
from roster.imports.restrictions import RESTRICTIONS
from roster.kinds.days import SetDays
from roster.models import Basis, Child, Restriction, Strictness
from tests.factories import ChildFactory, RestrictionFactory, UserFactory
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def child() -> Child:
    return ChildFactory(source="QUILL", source_id="usr-1")


def row(**cells: str) -> dict[str, str]:
    return {"source": "QUILL", "child_id": "usr-1", "substance": "milk", **cells}


def plan(*rows: dict[str, str]) -> ImportPlan:
    return plan_rows(RESTRICTIONS, csv_file(RESTRICTIONS, *rows))


def known(child: Child) -> list[Restriction]:
    return list(Restriction.objects.known(timezone.now()).filter(child=child))


def told(made: ImportPlan) -> list[tuple[int, str]]:
    return [(problem.row, problem.field) for problem in made.problems]


def test_a_row_without_more_words_protects_as_strictly_as_can_be(child):
    june = UserFactory()
    made = plan(row(note="hives"))
    assert made.summary == "restriction: 1 new"
    made.save(june)
    (restriction,) = known(child)
    assert (restriction.substance, restriction.strictness, restriction.basis) == ("milk", "trace", "reported")
    assert (restriction.note, restriction.recorded_by, restriction.ends_on) == ("hives", june, None)


@pytest.mark.parametrize(
    ("written", "code"), [("Cashew", "tree-nut.cashew"), ("coeliac", "gluten"), ("PEANUT", "peanut")]
)
def test_a_substance_may_be_named_as_people_name_it(child, written, code):
    plan(row(substance=written)).save()
    assert known(child)[0].substance == code


def test_importing_again_does_nothing(child):
    plan(row()).save()
    assert plan(row()).steps == []
    assert plan(row(substance="dairy")).summary == "restriction: 1 unchanged"


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        ({"source": "OTHER"}, "child_id", "No child of “OTHER” has the number “usr-1”. Import the class list first"),
        ({"child_id": "usr-9"}, "child_id", "has the number “usr-9”"),
        ({"child_id": ""}, "child_id", "The cell is empty"),
        ({"substance": "penut"}, "substance", "“penut” is not in the list of substances. Is “peanut”"),
        ({"substance": "xyzzy"}, "substance", "Use a code from the list."),
        ({"substance": ""}, "substance", "The cell is empty"),
        ({"strictness": "mild"}, "strictness", "Write one of: trace, ingredient"),
        ({"strictness": "ingredient"}, "strictness", "A medical restriction begins as “trace”"),
        ({"basis": "doctor"}, "basis", "Write one of: statement, reported, religious"),
        ({"starts_on": "1.9.2026"}, "starts_on", "is not a date as YYYY-MM-DD"),
        ({"basis": "ethical", "starts_on": "2026-09-02", "ends_on": "2026-09-01"}, "ends_on", "before it begins"),
        ({"note": "x" * 201}, "note", "201 characters; 200 fit"),
    ],
)
def test_a_bad_cell_is_told_with_row_field_what_and_mend(child, cells, field, words):
    made = plan(row(substance="soy"), row(**cells))
    assert told(made) == [(3, field)]
    assert words in str(made.problems[0])


def test_with_one_bad_row_nothing_is_saved(child):
    made = plan(row(), row(substance="penut"))
    with pytest.raises(Exception, match="Nothing was saved"):
        made.save()
    assert known(child) == []


def test_a_signed_statement_takes_the_place_of_a_report(child):
    old = RestrictionFactory(child=child, substance="milk", basis=Basis.REPORTED)
    made = plan(row(basis="statement"))
    assert made.summary == "restriction: 1 changed"
    made.save()
    (restriction,) = known(child)
    assert (restriction.basis, restriction.replaces) == ("statement", old)


def test_a_stricter_row_takes_the_place_of_a_family_wish(child):
    RestrictionFactory(child=child, substance="pork", strictness=Strictness.INGREDIENT, basis=Basis.RELIGIOUS)
    plan(row(substance="pork", basis="religious", strictness="trace")).save()
    assert [each.strictness for each in known(child)] == ["trace"]


@pytest.mark.parametrize(
    "cells",
    [
        {"starts_on": "2026-09-02"},
        {"basis": "family"},
        {"basis": "reported"},
        {"basis": "religious", "strictness": "ingredient"},
    ],
)
def test_a_file_never_makes_a_restriction_milder(child, cells):
    old = RestrictionFactory(child=child, substance="milk", basis=Basis.STATEMENT)
    made = plan(row(**{"basis": "statement", **cells}))
    assert told(made) == [(2, "strictness")]
    assert "A file never relaxes a restriction: licensed staff do" in made.problems[0].mend
    assert known(child) == [old]


def test_a_restriction_that_the_file_does_not_name_stands(child):
    RestrictionFactory(child=child, substance="egg")
    plan(row()).save()
    assert {each.substance for each in known(child)} == {"egg", "milk"}


def test_a_child_and_substance_twice_is_told_on_both_rows(child):
    assert told(plan(row(), row(substance="dairy", starts_on="2026-09-01"))) == [(2, "substance"), (3, "substance")]


def test_dates_are_kept(child):
    plan(row(basis="religious", starts_on="2026-09-01", ends_on="2027-06-11")).save()
    assert (known(child)[0].starts_on, known(child)[0].ends_on) == (date(2026, 9, 1), date(2027, 6, 11))


def test_a_medical_restriction_with_a_last_day_is_refused(child):
    made = plan(row(ends_on="2027-06-11"))
    assert told(made) == [(2, "ends_on")]
    assert "Licensed staff end a medical restriction" in made.problems[0].mend


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    for n in range(20):
        ChildFactory(source="QUILL", source_id=f"usr-{n}")
    for size in (2, 20):
        with django_assert_num_queries(2):  # children, their restrictions
            plan(*(row(child_id=f"usr-{n}") for n in range(size)))


def test_children_whom_the_person_may_not_see_count_as_unknown(child):
    """What a file says of them is refused in the same words as for a number that does not exist."""
    made = plan_rows(RESTRICTIONS, csv_file(RESTRICTIONS, row()), among=Child.objects.none())
    assert told(made) == [(2, "child_id")]


def test_set_days_of_the_calendar_do_not_stand_for_every_day(child):
    """A family that keeps Fridays may come to keep every day."""
    fridays = RestrictionFactory(child=child, substance="pork", basis=Basis.RELIGIOUS, days=SetDays.FRIDAYS)
    plan(row(substance="pork", basis="religious")).save()
    assert {each.days for each in known(child)} == {SetDays.FRIDAYS, SetDays.EVERY} and fridays in known(child)
