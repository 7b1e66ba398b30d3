"""Class lists by the rules of the 1EdTech OneRoster CSV binding, versions 1.1 and 1.2, bulk.

The column tables in roster/imports/data/columns.csv name where each column was read. What is done with a bad package is
our own choice where the standard leaves it open: nothing is guessed, and nothing is half saved.
"""

from __future__ import annotations

from datetime import date

import pytest

from menus.imports.plan import ImportPlan
from menus.models import Site
from roster.imports.plan import plan_import
from roster.imports.tables import columns_of
from roster.models import Child, Classroom, Enrolment, Restriction
from tests.factories import ClassroomFactory, RestrictionFactory, SiteFactory
from tests.roster.imports.packages import Files, rewritten, sample, with_cell, with_row, without_row, zipped

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 13)
VERSIONS = ("1.1", "1.2")


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


def plan(files: Files, **context) -> ImportPlan:
    return plan_import("roster", zipped(files), "roster.zip", **{"today": TODAY} | context)


def told(made: ImportPlan) -> list[tuple[str, int, str]]:
    return [(problem.file, problem.row, problem.field) for problem in made.problems]


def places() -> set[tuple[str, str, str, str]]:
    return {
        (each.child.given_name, each.classroom.name, str(each.starts_on), str(each.ends_on))
        for each in Enrolment.objects.select_related("child", "classroom")
    }


SAMPLE_PLACES = {
    ("Fenna", "Wagtails", "2026-08-24", "None"),
    ("Adisa", "Wagtails", "2026-08-24", "None"),
    ("Mireille", "Wagtails", "2026-08-24", "2026-10-02"),
    ("Mireille", "Swifts", "2026-10-05", "None"),
    ("Jun", "Puddle Room", "2026-09-08", "None"),
    ("Zosia", "Puddle Room", "2026-09-08", "None"),
}


@pytest.mark.parametrize("version", VERSIONS)
def test_a_full_package_brings_classes_children_and_enrolments(version):
    made = plan(sample(version))
    assert made.summary == "classroom: 3 new; child: 5 new; enrolment: 6 new"
    made.save()
    assert places() == SAMPLE_PLACES
    rooms = Classroom.objects.values_list("site__code", "name", "grade", "source", "source_id")
    assert set(rooms) == {
        ("q-10", "Wagtails", "KG", "QUILL", "cls-w"),
        ("q-10", "Swifts", "KG", "QUILL", "cls-s"),
        ("q-20", "Puddle Room", "PK", "QUILL", "cls-p"),
    }
    births = dict(Child.objects.values_list("source_id", "birth_date"))
    assert births["usr-1"] == date(2020, 11, 20)
    assert births["usr-5"] is None


@pytest.mark.parametrize("version", VERSIONS)
def test_importing_it_again_does_nothing(version):
    plan(sample(version)).save()
    again = plan(sample(version))
    assert (again.steps, again.problems) == ([], [])
    assert again.summary == "classroom: 3 unchanged; child: 5 unchanged; enrolment: 6 unchanged"


def test_both_versions_say_the_same():
    plan(sample("1.1")).save()
    assert plan(sample("1.2")).steps == []


def test_teachers_and_guardians_are_no_children():
    plan(sample()).save()
    assert set(Child.objects.values_list("source_id", flat=True)) == {f"usr-{n}" for n in range(1, 6)}


def test_race_sex_birth_place_and_password_are_never_read():
    """Keeping no more than is needed: what the tables let through is all that any code can see."""
    for version in VERSIONS:
        assert columns_of(version, "demographics").read == {"sourcedId", "status", "birthDate"}
        assert columns_of(version, "users").read <= {"sourcedId", "status", "role", "givenName", "familyName"}


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(
    ("file", "required"),
    [
        ("orgs", {"sourcedId", "name", "type"}),
        ("academicSessions", {"sourcedId", "title", "type", "startDate", "endDate", "schoolYear"}),
        ("classes", {"sourcedId", "title", "courseSourcedId", "classType", "schoolSourcedId", "termSourcedIds"}),
        ("enrollments", {"sourcedId", "classSourcedId", "schoolSourcedId", "userSourcedId", "role"}),
        ("demographics", {"sourcedId"}),
    ],
)
def test_required_columns_are_those_of_the_standard(version, file, required):
    assert columns_of(version, file).required == required


@pytest.mark.parametrize("version", VERSIONS)
def test_an_empty_cell_that_the_standard_requires_is_a_problem(version):
    made = plan(with_cell(sample(version), "users.csv", "usr-1", "familyName", ""))
    assert ("users.csv", 3, "familyName") in told(made)


def test_own_columns_after_the_declared_ones_are_taken():
    def change(rows):
        for number, row in enumerate(rows):
            row.append("metadata.bus" if number == 0 else "7")

    assert not plan(rewritten(sample(), "users.csv", change)).problems


def test_1_2_1_without_its_dropped_column_is_taken():
    def change(rows):
        at = rows[0].index("resourceSourcedIds")
        for row in rows:
            del row[at]

    assert not plan(rewritten(sample("1.2"), "users.csv", change)).problems


def test_a_byte_order_mark_is_taken_with_a_note():
    files = sample()
    made = plan({**files, "users.csv": b"\xef\xbb\xbf" + files["users.csv"]})
    assert not made.problems
    assert ("users.csv", "The file begins with a byte order mark, which was left out.") in [
        (note.file, note.what) for note in made.notes
    ]


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
        ("delta", "The package holds changes only (delta) for: classes. Export a full package (bulk)"),
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


def test_names_are_text_whatever_they_hold():
    """RFC 4180: a comma, quotation marks and a line break inside a quoted cell; a formula is a name like any other."""
    name = 'D’Árcy, "Bo"\nLee'
    files = with_cell(sample(), "users.csv", "usr-1", "familyName", name)
    plan(with_cell(files, "users.csv", "usr-1", "givenName", '=HYPERLINK("x")')).save()
    child = Child.objects.get(source_id="usr-1")
    assert (child.given_name, child.family_name) == ('=HYPERLINK("x")', name)


def test_a_child_who_is_gone_from_a_full_list_leaves_the_class_and_keeps_the_restrictions():
    plan(sample()).save()
    child = Child.objects.get(source_id="usr-4")
    RestrictionFactory(child=child)
    files = sample()
    for name, id in (("enrollments.csv", "enr-5"), ("users.csv", "usr-4"), ("demographics.csv", "usr-4")):
        files = without_row(files, name, id)
    made = plan(files)
    assert "Jun Albright-Okoro is no longer in the file and leaves the class; restrictions are kept." in [
        note.what for note in made.notes
    ]
    made.save()
    assert ("Jun", "Puddle Room", "2026-09-08", "2026-10-13") in places()
    assert Restriction.objects.filter(child=child).count() == 1


def test_a_delta_is_refused_whole_so_that_an_unknown_id_in_it_does_no_harm():
    files = with_cell(sample(), "manifest.csv", "file.enrollments", "value", "delta")
    assert len(plan(with_cell(files, "enrollments.csv", "enr-1", "status", "tobedeleted")).problems) == 1


def test_a_row_marked_for_deletion_in_a_full_list_is_told():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "status", "tobedeleted"))
    assert told(made) == [("enrollments.csv", 3, "status")]


def test_a_school_without_a_site_is_told_or_created_by_choice():
    Site.objects.filter(code="q-20").delete()
    made = plan(sample())
    assert told(made) == [("orgs.csv", 4, "identifier")]
    assert "Make a site with the code “q-20”" in made.problems[0].mend
    plan(sample(), create_sites=True).save()
    assert Classroom.objects.get(name="Puddle Room").site == Site.objects.get(code="q-20")


@pytest.mark.parametrize("named", ["Q-20", "org-b"])
def test_a_school_may_be_named_as_a_site_of_another_code(named):
    Site.objects.filter(code="q-20").update(code="puddle", name="The daycare")
    plan(sample(), sites={named: "puddle"}).save()
    assert Classroom.objects.get(name="Puddle Room").site.code == "puddle"


def test_a_classroom_made_by_hand_is_the_class_of_the_same_name():
    by_hand = ClassroomFactory(site=Site.objects.get(code="q-10"), name="Wagtails")
    plan(sample()).save()
    by_hand.refresh_from_db()
    assert (by_hand.source, by_hand.source_id) == ("QUILL", "cls-w")


def test_a_classroom_of_another_source_is_not_taken_over():
    ClassroomFactory(site=Site.objects.get(code="q-10"), name="Wagtails", source="OTHER", source_id="7")
    made = plan(sample())
    assert told(made) == [("classes.csv", 2, "title")]
    assert "recorded for another class, “7” of “OTHER”" in made.problems[0].what


def test_a_class_that_moves_to_another_school_stays_the_same_class():
    plan(sample()).save()
    room = Classroom.objects.get(source_id="cls-w")
    made = plan(with_cell(sample(), "classes.csv", "cls-w", "schoolSourcedId", "org-b"))
    assert made.summary.startswith("classroom: 1 changed, 2 unchanged")
    made.save()
    room.refresh_from_db()
    assert room.site.code == "q-20"


def test_with_one_problem_nothing_is_saved():
    made = plan(with_cell(sample(), "enrollments.csv", "enr-1", "role", "counselor"))
    with pytest.raises(Exception, match="Nothing was saved"):
        made.save()
    assert not Child.objects.exists()
    assert not Classroom.objects.exists()


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    few = sample()
    many = few
    for n in range(20):
        many = with_row(many, "users.csv", "usr-1", sourcedId=f"usr-x{n}")
        many = with_row(many, "enrollments.csv", "enr-1", sourcedId=f"enr-x{n}", userSourcedId=f"usr-x{n}")
    for files in (few, many):
        with django_assert_num_queries(4):  # sites, classrooms, children, enrolments
            assert not plan(files).problems
