"""Changes only (delta) by the rules of the 1EdTech OneRoster CSV binding, versions 1.1 and 1.2.

The standard gives every row of a delta a status, `active` or `tobedeleted`, and the moment of its last change; where
that was read is in roster/imports/data/columns.csv. What is done with a bad one is our own choice.
"""

from __future__ import annotations

import pytest

from roster.models import Child, Classroom, SourceRow
from tests.factories import SiteFactory
from tests.roster.imports.packages import (
    SAMPLE_PLACES,
    changes,
    places,
    plan,
    sample,
    told,
    with_cell,
    without_row,
)

pytestmark = pytest.mark.django_db
VERSIONS = ("1.1", "1.2")
MOVE = [
    {"sourcedId": "enr-1", "status": "tobedeleted"},
    {
        "sourcedId": "enr-9",
        "classSourcedId": "cls-s",
        "schoolSourcedId": "org-a",
        "userSourcedId": "usr-1",
        "role": "student",
        "beginDate": "2026-10-15",
    },
]
NEW = {
    "users": [
        {
            "sourcedId": "usr-9",
            "enabledUser": "true",
            "orgSourcedIds": "org-b",
            "role": "student",
            "username": "u-9",
            "givenName": "Ilse",
            "familyName": "Marrow",
        }
    ],
    "enrollments": [
        {
            "sourcedId": "enr-x",
            "classSourcedId": "cls-p",
            "schoolSourcedId": "org-b",
            "userSourcedId": "usr-9",
            "role": "student",
            "beginDate": "2026-10-14",
        }
    ],
}


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


@pytest.mark.parametrize("version", VERSIONS)
def test_a_child_moves_and_nobody_else_is_touched(version):
    plan(sample(version)).save()
    made = plan(changes(version, enrollments=MOVE))
    assert not made.problems
    assert made.told == {"Moves": ["Fenna Quist (usr-1): Wagtails → Swifts from 2026-10-15"]}
    made.save()
    fenna = {place for place in places() if place[0] == "Fenna"}
    assert fenna == {("Fenna", "Wagtails", "2026-08-24", "2026-10-14"), ("Fenna", "Swifts", "2026-10-15", "None")}
    assert {place for place in places() if place[0] != "Fenna"} == {p for p in SAMPLE_PLACES if p[0] != "Fenna"}


@pytest.mark.parametrize("version", VERSIONS)
def test_a_child_arrives_with_a_user_and_an_enrolment(version):
    plan(sample(version)).save()
    made = plan(changes(version, **NEW))
    assert made.told == {"Arrives": ["Ilse Marrow (usr-9): Puddle Room from 2026-10-14"]}
    made.save()
    assert ("Ilse", "Puddle Room", "2026-10-14", "None") in places()


def test_a_role_alone_says_who_is_a_child_in_1_2():
    """In 1.2 the role stands in roles.csv and no longer beside the user."""
    plan(sample("1.2")).save()
    role = {
        "sourcedId": "rol-9",
        "userSourcedId": "usr-9",
        "roleType": "primary",
        "role": "student",
        "orgSourcedId": "org-b",
    }
    plan(changes("1.2", users=NEW["users"], roles=[role])).save()
    assert Child.objects.get(source_id="usr-9").family_name == "Marrow"


def test_one_change_on_top_of_another():
    """The second package says nothing of the first, and takes nothing of it back."""
    plan(sample()).save()
    plan(changes(enrollments=MOVE)).save()
    after = places()
    made = plan(
        changes(users=[{**NEW["users"][0], "sourcedId": "usr-2", "givenName": "Ada", "familyName": "Thornlow"}])
    )
    assert made.told == {
        "Changes name or birth date": ["Adisa Thornlow 2021-02-07 (usr-2) → Ada Thornlow 2021-02-07"],
    }
    made.save()
    assert {place[1:] for place in places()} == {place[1:] for place in after}


def test_the_same_changes_again_do_nothing():
    plan(sample()).save()
    plan(changes(enrollments=MOVE)).save()
    assert plan(changes(enrollments=MOVE)).steps == []


def test_changes_that_come_to_what_a_full_list_says_leave_the_same_records():
    plan(sample()).save()
    plan(changes(demographics=[{"sourcedId": "usr-5", "birthDate": "2023-01-02"}])).save()
    whole = sample()
    line = b"usr-5,,,2023-01-02" + b"," * 12 + b"\r\n"
    assert plan({**whole, "demographics.csv": whole["demographics.csv"].rstrip() + b"\r\n" + line}).steps == []


def test_an_unknown_row_that_is_to_be_deleted_is_told_and_stops_nothing():
    plan(sample()).save()
    made = plan(changes(enrollments=[{"sourcedId": "enr-999", "status": "tobedeleted"}]))
    assert (made.problems, made.steps) == ([], [])
    assert ["“enr-999” is to be deleted and was not known" in note.what for note in made.notes] == [True]


def test_a_change_older_than_what_is_known_is_passed_over():
    plan(sample()).save()
    plan(changes(enrollments=MOVE)).save()
    late = {**MOVE[1], "dateLastModified": "2026-10-11T00:00:00.000Z", "classSourcedId": "cls-p"}
    made = plan(changes(enrollments=[late]))
    assert made.steps == []
    assert "was changed before what is on record" in made.notes[0].what


def test_a_change_without_a_full_list_before_it_is_refused():
    made = plan(changes(enrollments=MOVE))
    assert told(made) == [("manifest.csv", 0, "")]
    assert "no full list of “QUILL” was imported before" in made.problems[0].what


def test_a_change_for_another_source_is_refused():
    plan(sample()).save()
    made = plan(with_cell(changes(enrollments=MOVE), "manifest.csv", "source.systemCode", "value", "OTHER"))
    assert "no full list of “OTHER”" in made.problems[0].what


@pytest.mark.parametrize(
    ("cells", "column", "said"),
    [
        ({"status": ""}, "status", "Nothing says what became of the row"),
        ({"status": "deleted"}, "status", "“deleted” is no status of a change"),
        ({"dateLastModified": ""}, "dateLastModified", "no moment in ISO 8601"),
        ({"dateLastModified": "12/10/2026"}, "dateLastModified", "no moment in ISO 8601"),
        ({"role": ""}, "role", "The cell is empty"),
        ({"userSourcedId": "usr-404"}, "userSourcedId", "“usr-404” is not in users.csv"),
    ],
)
def test_a_row_that_is_no_sound_change_is_told(cells, column, said):
    plan(sample()).save()
    made = plan(changes(enrollments=[{**MOVE[1], **cells}]))
    assert told(made) == [("enrollments.csv", 2, column)]
    assert said in made.problems[0].what


def test_a_class_that_is_taken_back_takes_its_enrolments_along_once_that_is_confirmed():
    """Nobody is said to sit in a class that the source no longer has; three of five is never taken without a word."""
    plan(sample()).save()
    gone = changes(classes=[{"sourcedId": "cls-w", "status": "tobedeleted"}])
    assert "would take 2 of 5 children" in plan(gone).problems[0].what
    made = plan(gone, confirm_endings=True)
    assert sum("“cls-w” back" in note.what for note in made.notes) == 4
    made.save()
    assert ("Fenna", "Wagtails", "2026-08-24", "2026-10-13") in places()
    assert Classroom.objects.filter(source_id="cls-w").exists()


def test_a_full_file_beside_a_changed_one_takes_the_place_of_what_was_known():
    plan(sample()).save()
    mixed = {**changes(enrollments=MOVE), "users.csv": without_row(sample(), "users.csv", "usr-g")["users.csv"]}
    made = plan(with_cell(mixed, "manifest.csv", "file.users", "value", "bulk"))
    assert not made.problems
    made.save()
    assert not SourceRow.objects.filter(source_id="usr-g").exists()
    assert ("Fenna", "Swifts", "2026-10-15", "None") in places()


def test_what_is_known_holds_neither_names_of_guardians_nor_addresses_of_children():
    """What no import needs is not kept, nor is any column that is not read."""
    files = sample()
    for user in ("usr-1", "usr-g", "usr-t"):
        files = with_cell(files, "users.csv", user, "email", f"{user}@example.org")
    plan(files).save()
    cells = {row.source_id: row.cells for row in SourceRow.objects.filter(file="users")}
    assert cells["usr-t"]["email"] == "usr-t@example.org"
    assert (cells["usr-1"]["email"], cells["usr-1"]["givenName"]) == ("", "Fenna")
    assert (cells["usr-g"]["email"], cells["usr-g"]["familyName"]) == ("", "")
    assert not any("never-read" in str(row.cells) for row in SourceRow.objects.all())


def test_rows_left_out_of_a_full_list_are_not_forgotten():
    plan(sample()).save()
    bad = with_cell(sample(), "enrollments.csv", "enr-5", "role", "")
    plan(bad, leave_out=True).save()
    assert SourceRow.objects.filter(source_id="enr-5").exists()
    assert plan(changes(enrollments=[{"sourcedId": "enr-5", "status": "tobedeleted"}]), confirm_endings=True).steps


def test_the_number_of_queries_does_not_grow_with_what_is_known(django_assert_num_queries):
    plan(sample()).save()
    with django_assert_num_queries(6):  # what is known, sites, classrooms, children, enrolments, posts
        made = plan(changes(enrollments=MOVE))
    assert not made.problems
    assert made.steps[0].action == "end"


@pytest.mark.parametrize(("counts", "last"), [(True, "2026-10-16"), (False, "2026-10-15")])
def test_the_end_date_is_the_last_day_or_the_first_after_it_as_the_setting_says(settings, counts, last):
    """The standard leaves it open, from memory; commonly it is the last day."""
    settings.ROSTER_END_DATE_INCLUSIVE = counts
    plan(sample()).save()
    plan(with_cell(sample(), "enrollments.csv", "enr-5", "endDate", "2026-10-16")).save()
    assert ("Jun", "Puddle Room", "2026-09-08", last) in places()
