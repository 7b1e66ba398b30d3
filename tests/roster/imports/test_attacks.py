"""Class lists that were made to do harm: refused in a sentence, and nothing is written anywhere but the records.

The kinds of attack are those of OWASP's pages on zip bombs and path traversal (names from memory).
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from roster.imports.plan import plan_import
from roster.models import Child
from tests.roster.imports.packages import changes, plan, rewritten, sample, told, with_cell, zipped

pytestmark = pytest.mark.django_db


def with_member(name: str, data: bytes) -> io.BytesIO:
    out = zipped(sample())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    out.seek(0)
    return out


def refused(file: io.BytesIO) -> str:
    made = plan_import("roster", file, create_sites=True)
    assert not made.steps
    return str(made.problems[0])


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("../users.csv", "sub-folder of the zip, “..”"),
        ("../../etc/cron.csv", "sub-folder of the zip, “../../etc”"),
        ("/etc/cron.csv", "sub-folder of the zip"),
        ("..\\users.csv", "the manifest gives it as nothing"),
        ("C:\\users.csv", "the manifest gives it as nothing"),
        ("more.csv", "the manifest gives it as nothing"),
    ],
)
def test_a_member_that_names_another_place_is_refused(name: str, said: str, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert said in refused(with_member(name, b"sourcedId\r\n"))
    assert not list(tmp_path.iterdir())


def test_a_member_that_is_no_table_is_never_opened(tmp_path: Path, monkeypatch) -> None:
    """A script or a zip in the zip, and a link out of it: passed over, whatever they are called."""
    monkeypatch.chdir(tmp_path)
    out = with_member("../../run.sh", b"#!/bin/sh\n")
    link = zipfile.ZipInfo("link")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr(link, "/etc/passwd")
        archive.writestr("inner.zip", zipped(sample()).read())
    out.seek(0)
    made = plan_import("roster", out, create_sites=True)
    assert not made.problems
    assert not list(tmp_path.iterdir())


def test_a_file_that_unpacks_to_far_more_than_it_weighs_is_refused() -> None:
    assert "times its weight" in refused(with_member("more.csv", b"," * 20_000_000))


def test_many_files_that_unpack_to_more_than_is_taken_are_refused(settings) -> None:
    settings.IMPORT_MAX_BYTES = 20_000
    assert "Unpacked, the file would be larger" in refused(with_member("more.csv", b"ab,\r\n" * 100_000))


def test_more_parts_than_any_list_has_are_refused() -> None:
    out = zipped(sample())
    with zipfile.ZipFile(out, "a") as archive:
        for number in range(2_001):
            archive.writestr(f"{number}.txt", b"")
    out.seek(0)
    assert "hold more than 2,000 parts" in refused(out)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\x00", "holds NUL characters"),
        ("\r\nusr-9,é".encode("latin-1"), "not written in UTF-8"),
        (b"\r\nusr-9,,\r\n", "The row has 3 cells and the header has 18"),
        (b'\r\nusr-9,"', "cannot be read as CSV"),
    ],
)
@pytest.mark.parametrize("mode", ["bulk", "delta"])
def test_a_file_of_other_bytes_is_refused_with_its_row(data: bytes, said: str, mode: str) -> None:
    plan(sample(), create_sites=True).save()
    before = Child.objects.count()
    files = sample() if mode == "bulk" else changes(users=[])
    made = plan({**files, "users.csv": files["users.csv"].rstrip() + data}, create_sites=True)
    assert any(said in str(problem) and problem.row for problem in made.problems)
    assert Child.objects.count() == before


@pytest.mark.parametrize("form", ["utf-16", "utf-32"])
def test_a_file_in_another_way_of_writing_is_refused(form: str) -> None:
    files = sample()
    made = plan({**files, "users.csv": files["users.csv"].decode().encode(form)}, create_sites=True)
    assert made.problems


def test_a_source_that_names_itself_at_length_or_like_a_path_does_no_harm() -> None:
    """It is a name and no more."""
    files = with_cell(sample(), "manifest.csv", "source.systemCode", "value", "../" * 40)
    plan(files, create_sites=True).save()
    assert {len(each) for each in Child.objects.values_list("source", flat=True)} == {40}


def test_a_row_longer_than_the_header_is_told() -> None:
    made = plan(rewritten(sample(), "orgs.csv", lambda rows: rows[1].append("more")), create_sites=True)
    assert ("orgs.csv", 2, "") in told(made)
