"""Templates: what they hold is what the import takes."""

from __future__ import annotations

import io

import pytest
from openpyxl import load_workbook

from menus.imports.sheet import read_sheet
from menus.imports.template import csv_template, xlsx_template
from roster.imports.plan import KINDS

BOTH = [
    pytest.param(make, kind, id=f"{kind.name}-{make.__name__}")
    for kind in KINDS.values()
    for make in (csv_template, xlsx_template)
]


@pytest.mark.parametrize(("make", "kind"), BOTH)
def test_a_template_has_the_right_header_and_no_row_to_import_by_mistake(make, kind):
    (problem,) = read_sheet(io.BytesIO(make(kind)), kind.header).problems
    assert problem.what == "There is no row below the header."


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_row_typed_into_the_workbook_is_read_and_keeps_its_zeros(kind):
    book = load_workbook(io.BytesIO(xlsx_template(kind)))
    for number in range(1, len(kind.header) + 1):
        cell = book.worksheets[0].cell(2, number)
        assert cell.number_format == "@"
        cell.value = "007"
    out = io.BytesIO()
    book.save(out)
    (row,) = read_sheet(io.BytesIO(out.getvalue()), kind.header).rows
    assert set(row.cells.values()) == {"007"}


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_the_second_sheet_explains_every_column(kind):
    sheet = load_workbook(io.BytesIO(xlsx_template(kind))).worksheets[1]
    told = {row[0]: row[2] for row in sheet.iter_rows(min_row=2, values_only=True)}
    assert list(told) == kind.header
    assert all(told.values())
