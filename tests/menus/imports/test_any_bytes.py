"""Any bytes whatever as an upload give problems, never an exception."""

from __future__ import annotations

import io
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from menus.imports.sheet import read_sheet
from roster.imports.plan import KINDS, plan_import
from tests.factories import SiteFactory, this_monday
from tests.menus.imports.files import csv_bytes, xlsx_file

pytestmark = pytest.mark.django_db

PREFIXES = [b"", b"PK\x03\x04", b"\xef\xbb\xbf", b"\xff\xfe", b"\xd0\xcf\x11\xe0", b"code,name\n"]
ANY_BYTES = st.builds(bytes.__add__, st.sampled_from(PREFIXES), st.binary(max_size=300))
CELL = st.text(max_size=40) | st.sampled_from(
    ["", "1", "2026-03-08", "NaN", "1E9", "²", "monday", "lunch", "-0", "=1+1"]
)
QUICK = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def context() -> dict[str, dict]:
    return {"cycle": {"site": SiteFactory(), "menu": "Autumn", "starts_on": this_monday()}}


@given(data=ANY_BYTES, kind=st.sampled_from([*KINDS, "roster"]))
@QUICK
def test_any_bytes(context, data, kind):
    plan = plan_import(kind, io.BytesIO(data), **context.get(kind, {}))
    assert plan.problems
    assert all(problem.what and problem.mend for problem in plan.problems)


@given(data=st.data(), kind=st.sampled_from(list(KINDS.values())))
@QUICK
def test_any_cells_below_the_right_header(context, data, kind):
    row = st.lists(CELL, min_size=len(kind.header), max_size=len(kind.header))
    rows = data.draw(st.lists(row, min_size=1, max_size=3))
    plan = plan_import(kind.name, io.BytesIO(csv_bytes([kind.header, *rows])), **context.get(kind.name, {}))
    assert all(problem.what and problem.mend for problem in plan.problems)
    if not plan.problems:
        plan.save()  # what the dry run lets through can be saved


WORKBOOK = xlsx_file([["code", "name"], ["B-1", "buns"]]).read()
PARTS = zipfile.ZipFile(io.BytesIO(WORKBOOK)).namelist()


@given(part=st.sampled_from(PARTS), at=st.integers(0, 10_000), new=st.binary(max_size=30), cut=st.integers(0, 200))
@QUICK
def test_a_workbook_with_one_part_damaged(part, at, new, cut):
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(WORKBOOK)) as source, zipfile.ZipFile(out, "w") as target:
        for name in PARTS:
            body = source.read(name)
            where = at % (len(body) + 1)
            target.writestr(name, body[:where] + new + body[where + cut :] if name == part else body)
    sheet = read_sheet(io.BytesIO(out.getvalue()), ("code", "name"))
    assert sheet.problems or sheet.rows


@given(at=st.integers(0, len(WORKBOOK) - 1), byte=st.integers(0, 255))
@QUICK
def test_a_workbook_with_one_byte_damaged(at, byte):
    damaged = WORKBOOK[:at] + bytes([byte]) + WORKBOOK[at + 1 :]
    sheet = read_sheet(io.BytesIO(damaged), ("code", "name"))
    assert sheet.problems or sheet.rows
