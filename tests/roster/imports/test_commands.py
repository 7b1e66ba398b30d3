"""The import commands of the roster, and class lists as folders and as several uploads."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from roster.imports.plan import plan_roster_files
from roster.imports.restrictions import RESTRICTIONS
from roster.models import Child, Enrolment, Restriction
from tests.factories import ChildFactory, SiteFactory
from tests.menus.imports.files import csv_file
from tests.roster.imports.packages import SAMPLES, sample, with_cell, with_row, without_row, zipped

pytestmark = pytest.mark.django_db


def run(name: str, *options: str) -> str:
    out = io.StringIO()
    call_command(name, *options, stdout=out, stderr=out)
    return out.getvalue()


def test_a_folder_is_imported(tmp_path):
    said = run("import_roster", str(SAMPLES / "v1_1"), "--create-sites")
    assert said.splitlines()[-1] == "Saved: site: 2 new; classroom: 3 new; child: 5 new; enrolment: 6 new."
    assert Enrolment.objects.count() == 6


def test_a_zip_is_imported_and_a_dry_run_saves_nothing(tmp_path):
    path = tmp_path / "roster.zip"
    path.write_bytes(zipped(sample("1.2")).read())
    assert "Dry run, nothing was saved." in run("import_roster", str(path), "--create-sites", "--dry-run")
    assert not Child.objects.exists()
    run("import_roster", str(path), "--create-sites")
    assert Child.objects.count() == 5


def test_schools_may_be_named_as_sites():
    SiteFactory(code="elm")
    run("import_roster", str(SAMPLES / "v1_1"), "--site", "Q-10=elm", "--site", "Q-20=elm")
    assert Enrolment.objects.filter(classroom__site__code="elm").count() == 6


def test_a_pair_that_is_none_is_told():
    with pytest.raises(CommandError, match="“elm” is not SCHOOL=CODE"):
        run("import_roster", str(SAMPLES / "v1_1"), "--site", "elm")


def test_scheduled_classes_are_read_by_choice():
    options = ["--create-sites", "--class-type", "scheduled"]
    run("import_roster", str(SAMPLES / "v1_1"), *options)
    assert list(Enrolment.objects.values_list("classroom__name", flat=True)) == ["Music, Tuesday"]


def test_problems_are_printed_and_nothing_is_saved(tmp_path):
    path = tmp_path / "roster.zip"
    path.write_bytes(zipped(with_cell(sample(), "enrollments.csv", "enr-1", "role", "counselor")).read())
    with pytest.raises(CommandError, match=r"Nothing was saved: 1 problem\."):
        run("import_roster", str(path), "--create-sites")
    assert not Child.objects.exists()
    run("import_roster", str(path), "--create-sites", "--leave-out-bad-rows")
    assert Enrolment.objects.count() == 5


def test_a_path_that_is_not_there_is_told():
    with pytest.raises(CommandError, match=r"nowhere\.zip cannot be read"):
        run("import_roster", "nowhere.zip")


def test_several_uploads_make_a_package():
    made = plan_roster_files({name: io.BytesIO(data) for name, data in sample().items()}, create_sites=True)
    made.save()
    assert Enrolment.objects.count() == 6


def test_a_list_that_takes_more_than_a_few_children_out_waits_for_a_word(tmp_path: Path):
    """A file that was cut short would else leave a whole school unchecked. The dry run names each of them."""
    run("import_roster", str(SAMPLES / "v1_1"), "--create-sites")
    room = Enrolment.objects.get(child__source_id="usr-1").classroom
    for n in range(2):
        child = ChildFactory(source="QUILL", source_id=f"old-{n}")
        child.enrolments.create(classroom=room, starts_on="2026-08-24")
    with pytest.raises(CommandError, match=r"Nothing was saved: 1 problem\."):
        run("import_roster", str(SAMPLES / "v1_1"))
    said = run("import_roster", str(SAMPLES / "v1_1"), "--confirm-endings", "--dry-run")
    assert "Leaves: 2\n" in said
    assert "(old-1): Wagtails, last day " in said
    assert Enrolment.objects.filter(child__source_id__startswith="old-", ends_on=None).count() == 2
    run("import_roster", str(SAMPLES / "v1_1"), "--confirm-endings")
    assert Enrolment.objects.filter(child__source_id__startswith="old-", ends_on=None).count() == 0


def test_a_few_of_many_children_may_leave_without_a_word():
    """One of twenty is 5 %, and no more than that."""
    run("import_roster", str(SAMPLES / "v1_1"), "--create-sites")
    room = Enrolment.objects.get(child__source_id="usr-1").classroom
    files = sample()
    for n in range(15):
        child = ChildFactory(source="QUILL", source_id=f"more-{n}", given_name="Fenna", family_name="Quist")
        child.enrolments.create(classroom=room, starts_on="2026-08-24")
        files = with_row(files, "users.csv", "usr-1", sourcedId=f"more-{n}")
        files = with_row(files, "enrollments.csv", "enr-1", sourcedId=f"enr-more-{n}", userSourcedId=f"more-{n}")
    files = without_row(files, "enrollments.csv", "enr-6")
    plan_roster_files({name: io.BytesIO(data) for name, data in files.items()}).save()
    assert Enrolment.objects.exclude(ends_on=None).filter(child__source_id="usr-5").exists()


def test_restrictions_are_imported(tmp_path):
    ChildFactory(source="QUILL", source_id="usr-1")
    path = tmp_path / "restrictions.csv"
    path.write_bytes(csv_file(RESTRICTIONS, {"source": "QUILL", "child_id": "usr-1", "substance": "egg"}).read())
    assert run("import_restrictions", str(path)) == "Saved: restriction: 1 new.\n"
    assert Restriction.objects.get().substance == "egg"
