"""Packages that are broken, locked, or hold something else than they say."""

from __future__ import annotations

import io
import struct
import warnings
import zipfile
from datetime import date

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from menus.imports.plan import ImportPlan
from roster.imports.plan import plan_import
from roster.models import Child
from tests.roster.imports.packages import Files, rewritten, sample, with_cell, zipped

pytestmark = pytest.mark.django_db


def plan(file: io.BytesIO, **context) -> ImportPlan:
    return plan_import("roster", file, **{"today": date(2026, 10, 13), "create_sites": True} | context)


def only(made: ImportPlan) -> str:
    (problem,) = made.problems
    return str(problem)


def test_a_zip_with_a_damaged_file_is_refused_by_name():
    whole = zipped(sample()).read()
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        at = archive.getinfo("users.csv").header_offset
    damaged = whole[: at + 60] + b"\xff" * 20 + whole[at + 80 :]
    assert only(plan(io.BytesIO(damaged))) == "users.csv: This part of the zip is damaged. Fetch the zip again."


def test_a_locked_zip_is_refused():
    """Bit 0 of the general purpose flag says that a part is encrypted (PKWARE APPNOTE 4.4.4, from memory)."""
    data = bytearray(zipped({"manifest.csv": b"x"}).read())
    directory = data.index(b"PK\x01\x02")
    struct.pack_into("<H", data, directory + 8, 1)
    assert "locked with a password" in only(plan(io.BytesIO(bytes(data))))


def test_a_zip_with_two_files_of_one_name_is_refused():
    out = zipped(sample())
    with zipfile.ZipFile(out, "a") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        archive.writestr("users.csv", b"")
    out.seek(0)
    assert "two files of the same name" in only(plan(out))


def test_what_some_systems_put_into_a_zip_beside_the_files_is_passed_over():
    assert not plan(zipped({**sample(), "__MACOSX/._users.csv": b"\x00", "readme.txt": b"hello"})).problems


def test_a_file_that_is_no_zip_is_refused():
    assert plan(io.BytesIO(b"sourcedId,status\n")).problems


@pytest.mark.parametrize("manifest", [b"file,mode\r\norgs,bulk\r\n", b"propertyName,value\r\na,b,c\r\n", b"\r\n"])
def test_a_manifest_that_is_no_table_is_refused(manifest):
    assert "not a table of propertyName and value" in only(plan(zipped({**sample(), "manifest.csv": manifest})))


def test_a_manifest_that_cannot_be_read_is_refused_by_name():
    said = only(plan(zipped({**sample(), "manifest.csv": b"\xff\xff"})))
    assert said.startswith("manifest.csv, row 1: The file is not written in UTF-8")


def test_a_mode_that_the_standard_does_not_have_is_refused():
    files = with_cell(sample(), "manifest.csv", "file.results", "value", "partly")
    assert "gives “partly” for results.csv" in only(plan(zipped(files)))


def test_a_needed_file_that_is_given_as_absent_is_refused():
    files = with_cell(sample(), "manifest.csv", "file.orgs", "value", "absent")
    del files["orgs.csv"]
    assert "The package lacks orgs.csv" in only(plan(zipped(files)))


def test_birth_dates_and_terms_may_be_left_out_of_a_package():
    files = sample()
    for name in ("demographics", "courses"):
        files = with_cell(files, "manifest.csv", f"file.{name}", "value", "absent")
        del files[f"{name}.csv"]
    plan(zipped(files)).save()
    assert not Child.objects.exclude(birth_date=None).exists()


def test_a_child_without_begin_date_and_term_is_told():
    files = with_cell(sample(), "manifest.csv", "file.academicSessions", "value", "absent")
    del files["academicSessions.csv"]
    said = only(plan(zipped(files)))
    assert said.startswith("enrollments.csv, row 4, beginDate: Nothing says on which day the child begins.")


@pytest.mark.parametrize(
    ("name", "id", "column", "value", "said"),
    [
        ("classes.csv", "cls-w", "classType", "club", "“club” is no class type. Use homeroom or scheduled."),
        ("classes.csv", "cls-w", "title", "Swifts", "Row 2 has a class of the same name at the same school."),
        ("users.csv", "usr-1", "givenName", "x" * 81, "The text has 81 characters; 80 fit."),
        ("users.csv", "usr-5", "sourcedId", "u" * 81, "not in users.csv"),
    ],
)
def test_a_row_that_cannot_be_kept_is_told(name, id, column, value, said):
    made = plan(zipped(with_cell(sample(), name, id, column, value)))
    assert said in " ".join(map(str, made.problems))


def test_a_ragged_row_is_told():
    files = rewritten(sample(), "users.csv", lambda rows: rows[2].append("more"))
    said = [str(problem) for problem in plan(zipped(files)).problems]
    assert any(each.startswith("users.csv, row 3: The row has 19 cells and the header has 18.") for each in said)


SAMPLE = sample()


@given(
    name=st.sampled_from(sorted(SAMPLE)),
    data=st.binary(max_size=40) | st.text(max_size=10).map(str.encode),
    at=st.integers(0, 2_000),
    leave_out=st.booleans(),
)
@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_inside_any_file_give_problems_or_a_plan_that_can_be_saved(name, data, at, leave_out):
    where = at % (len(SAMPLE[name]) + 1)
    files: Files = {**SAMPLE, name: SAMPLE[name][:where] + data + SAMPLE[name][where:]}
    made = plan(zipped(files), leave_out=leave_out)
    assert all(problem.what and problem.mend for problem in made.problems)
    if not made.problems:
        with transaction.atomic():
            made.save()
            transaction.set_rollback(True)
