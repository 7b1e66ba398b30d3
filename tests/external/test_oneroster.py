"""Class lists by the rules of the 1EdTech OneRoster CSV binding, versions 1.1 and 1.2, bulk.

The column tables in roster/imports/data/columns.csv name where each column was read.
"""

from __future__ import annotations

from datetime import date

import pytest

from menus.models import Site
from roster.imports.tables import columns_of
from roster.models import Child, Classroom
from tests.factories import ClassroomFactory, SiteFactory
from tests.roster.imports.packages import SAMPLE_PLACES, places, plan, rewritten, sample, told, with_cell, with_row

pytestmark = pytest.mark.django_db
VERSIONS = ("1.1", "1.2")


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


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
        every = {"sourcedId", "status", "dateLastModified"}
        assert columns_of(version, "demographics").read == every | {"birthDate"}
        users = every | {"enabledUser", "role", "givenName", "familyName", "email"}
        assert columns_of(version, "users").read <= users


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


def test_names_are_text_whatever_they_hold():
    """RFC 4180: a comma, quotation marks and a line break inside a quoted cell; a formula is a name like any other."""
    name = 'D’Árcy, "Bo"\nLee'
    files = with_cell(sample(), "users.csv", "usr-1", "familyName", name)
    plan(with_cell(files, "users.csv", "usr-1", "givenName", '=HYPERLINK("x")')).save()
    child = Child.objects.get(source_id="usr-1")
    assert (child.given_name, child.family_name) == ('=HYPERLINK("x")', name)


def test_a_school_without_a_site_is_told_or_created_by_choice():
    Site.objects.filter(code="q-20").update(code="elsewhere", name="Elsewhere")
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


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    few = sample()
    many = few
    for n in range(20):
        many = with_row(many, "users.csv", "usr-1", sourcedId=f"usr-x{n}")
        many = with_row(many, "enrollments.csv", "enr-1", sourcedId=f"enr-x{n}", userSourcedId=f"usr-x{n}")
    for files in (few, many):
        # sites, classrooms, children, others of their names, enrolments, posts of teachers
        with django_assert_num_queries(6):
            assert not plan(files).problems
