"""Class lists that break a rule of the 1EdTech OneRoster CSV binding, versions 1.1 and 1.2, bulk.

The rules are those of the tables named in roster/imports/data/columns.csv. What is done with a bad package is our own
choice where the standard leaves it open: nothing is guessed, and nothing is half saved.
"""

from __future__ import annotations

from datetime import date

import pytest

from roster.imports.plan import plan_import
from roster.models import Child, Classroom
from tests.factories import SiteFactory
from tests.roster.imports.packages import (
    SAMPLE_PLACES,
    places,
    plan,
    rewritten,
    sample,
    told,
    with_cell,
    with_row,
    without_row,
    zipped,
)

pytestmark = pytest.mark.django_db
VERSIONS = ("1.1", "1.2")


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


@pytest.mark.parametrize("version", VERSIONS)
def test_an_empty_cell_that_the_standard_requires_is_a_problem(version):
    made = plan(with_cell(sample(version), "users.csv", "usr-1", "familyName", ""))
    assert ("users.csv", 3, "familyName") in told(made)


def test_an_enrolment_of_an_unknown_person_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "userSourcedId", "usr-999"))
    assert told(made) == [("enrollments.csv", 3, "userSourcedId")]
    assert "“usr-999” is not in users.csv" in made.problems[0].what


def test_bad_rows_can_be_left_out_by_choice_and_then_nobody_leaves_a_class():
    """The row that is missing may be the very one that was left out."""
    plan(sample()).save()
    files = without_row(sample(), "enrollments.csv", "enr-5")
    files = with_cell(files, "enrollments.csv", "enr-1", "userSourcedId", "usr-999")
    made = plan(files, leave_out=True)
    assert not made.problems
    assert "The row is left out." in " ".join(map(str, made.notes))
    made.save()
    assert places() == SAMPLE_PLACES


def test_a_package_without_a_manifest_is_refused():
    files = sample()
    del files["manifest.csv"]
    assert "has no manifest.csv" in str(plan(files).problems[0])


def test_a_package_in_a_folder_of_the_zip_is_refused():
    made = plan_import("roster", zipped(sample(), folder="export/"))
    assert "The files lie in a sub-folder of the zip, “export”. Zip the files themselves" in str(made.problems[0])


@pytest.mark.parametrize(
    ("mode", "words"),
    [
        ("absent", "The package holds classes.csv, and the manifest gives it as absent."),
        ("partly", "The package holds classes.csv, and the manifest gives it as partly."),
    ],
)
def test_a_manifest_that_disagrees_with_the_package_is_refused(mode, words):
    made = plan(with_cell(sample(), "manifest.csv", "file.classes", "value", mode))
    assert [problem.file for problem in made.problems] == ["manifest.csv"]
    assert words in str(made.problems[0])


@pytest.mark.parametrize("name", ["classes", "enrollments", "orgs", "users", "demographics"])
def test_a_file_that_is_announced_and_missing_is_refused(name):
    files = sample()
    del files[f"{name}.csv"]
    assert f"announces {name}.csv, and the package does not hold it" in str(plan(files).problems[0])


def test_another_version_is_refused():
    made = plan(with_cell(sample(), "manifest.csv", "oneroster.version", "value", "1.0"))
    assert "gives version “1.0”; this service reads 1.1 and 1.2" in str(made.problems[0])


@pytest.mark.parametrize("change", ["swap", "drop", "rename"])
def test_a_header_in_another_order_or_short_of_a_column_is_refused(change):
    def alter(rows):
        if change == "swap":
            rows[0][8], rows[0][9] = rows[0][9], rows[0][8]
        elif change == "drop":
            for row in rows:
                del row[9]
        else:
            rows[0][9] = "FamilyName"

    made = plan(rewritten(sample(), "users.csv", alter))
    assert told(made) == [("users.csv", 1, "")]
    assert "the standard has" in made.problems[0].what


def test_a_file_that_breaks_off_stops_the_import_even_when_bad_rows_are_left_out():
    """It cannot be told which children were in the rest of it."""
    files = sample()
    made = plan({**files, "users.csv": files["users.csv"] + b'usr-9,"'}, leave_out=True)
    assert told(made) == [("users.csv", 9, "")]


def test_a_role_that_no_enrolment_has_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "role", "counselor"))
    assert told(made) == [("enrollments.csv", 3, "role")]
    assert "administrator, proctor, student, teacher" in made.problems[0].mend


@pytest.mark.parametrize("birth", ["05/16/2023", "2027-05-16", "1923-05-16"])
def test_a_birth_date_in_another_form_ahead_or_long_ago_is_told_and_never_believed(birth):
    files = with_cell(sample(), "demographics.csv", "usr-4", "birthDate", birth)
    assert told(plan(files)) == [("demographics.csv", 5, "birthDate")]
    plan(files, leave_out=True).save()
    assert Child.objects.get(source_id="usr-4").birth_date is None


def test_a_bad_birth_date_does_not_undo_the_recorded_one():
    plan(sample()).save()
    plan(with_cell(sample(), "demographics.csv", "usr-4", "birthDate", "?"), leave_out=True).save()
    assert Child.objects.get(source_id="usr-4").birth_date == date(2023, 5, 16)


def test_two_people_of_one_id_are_both_told():
    made = plan(with_row(sample(), "users.csv", "usr-1", givenName="Somebody"))
    assert [problem.row for problem in made.problems if problem.field == "sourcedId"] == [3, 9]
    assert "neither can be trusted" in made.problems[-1].what


def test_organisations_in_a_circle_are_refused():
    made = plan(with_cell(sample(), "orgs.csv", "org-d", "parentSourcedId", "org-a"))
    assert made.problems[0].file == "orgs.csv"
    assert "stand above each other in a circle" in made.problems[0].what


def test_an_enrolment_that_ends_before_it_begins_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-5", "endDate", "2026-09-01"))
    assert told(made) == [("enrollments.csv", 7, "endDate")]


def test_a_child_in_two_classes_on_one_day_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-3", "endDate", "2026-10-05"))
    assert told(made) == [("enrollments.csv", 6, "beginDate")]
    assert "see row 5" in made.problems[0].what


def test_a_row_marked_for_deletion_in_a_full_list_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "status", "tobedeleted"))
    assert told(made) == [("enrollments.csv", 3, "status")]


def test_with_one_problem_nothing_is_saved():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "role", "counselor"))
    with pytest.raises(Exception, match="Nothing was saved"):
        made.save()
    assert not Child.objects.exists()
    assert not Classroom.objects.exists()
