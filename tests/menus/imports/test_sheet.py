"""Sheets out of CSV and XLSX, and every way in which a file is no sheet."""

from __future__ import annotations

import contextlib
import io
import zipfile
from datetime import date, datetime

import pytest
from openpyxl import Workbook, load_workbook

from menus.imports.sheet import Sheet, read_sheet
from tests.menus.imports.files import csv_bytes, xlsx_file

COLUMNS = ("code", "name", "seen_on")


def read(data: bytes) -> Sheet:
    return read_sheet(io.BytesIO(data), COLUMNS)


def cells(sheet: Sheet) -> list[tuple[int, dict[str, str]]]:
    assert not sheet.problems
    return [(row.number, dict(row.cells)) for row in sheet.rows]


def only(sheet: Sheet) -> str:
    (problem,) = sheet.problems
    return str(problem)


def test_csv_rows_carry_the_numbers_that_a_spreadsheet_shows():
    data = b'code,name,seen_on\r\nB-1," two\r\nlines ",2026-03-08\r\n\r\nB-2,buns,\r\n'
    assert cells(read(data)) == [
        (2, {"code": "B-1", "name": "two\r\nlines", "seen_on": "2026-03-08"}),
        (4, {"code": "B-2", "name": "buns", "seen_on": ""}),
    ]


def test_a_byte_order_mark_and_another_order_of_columns_are_taken():
    assert cells(read(b"\xef\xbb\xbfName,CODE,seen_on\nbuns,B-1,\n")) == [
        (2, {"code": "B-1", "name": "buns", "seen_on": ""})
    ]


def test_empty_columns_to_the_right_say_nothing():
    assert cells(read(b"code,name,seen_on,,\nB-1,buns,,,\n")) == [(2, {"code": "B-1", "name": "buns", "seen_on": ""})]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty"),
        (b" \r\n ", "The file is empty"),
        (b"code,name,seen_on\n", "no row below the header"),
        (b"code,name\nB-1,buns\n", "The header lacks: “seen_on”"),
        (b"code,name,seen_on,colour\nB-1,buns,,red\n", "does not know: “colour”"),
        (b"code,nam,seen_on\nB-1,buns,\n", "Is “name” meant?"),
        (b"code,name,name,seen_on\nB-1,a,b,\n", "“name” stands in the header 2 times"),
        (b"code;name;seen_on\nB-1;buns;\n", "separated by semicolons"),
        (b"code\tname\tseen_on\nB-1\tbuns\t\n", "separated by tabs"),
        ("code,name,seen_on\nB-1,Gruyère,\n".encode("latin-1"), "Row 2: The file is not written in UTF-8"),
        ("code,name,seen_on\nB-1,buns,\n".encode("utf-16"), "not written in UTF-8"),
        (b"code,name,seen_on\nB-1,bu\x00ns,\n", "Row 2: The file holds NUL characters"),
        (b"code,name,seen_on\nB-1,buns\n", "Row 2: This row has 2 cells and the header has 3"),
        (b"code,name,seen_on\nB-1,buns, sesame,2026-03-08\n", "Row 2: This row has 4 cells and the header has 3"),
        (b'code,name,seen_on\nB-1,"buns,\n', "Row 2: From here on the file cannot be read as CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old kind (.xls)"),
        (b"PK\x03\x04 and then nothing", "cannot be opened"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_in_a_sentence(data, said):
    assert said in only(read(data))


def test_every_ragged_row_is_listed_and_the_sound_ones_are_read():
    sheet = read(b"code,name,seen_on\nB-1\nB-2,buns,\nB-3,buns\n")
    assert [problem.row for problem in sheet.problems] == [2, 4]
    assert [row.number for row in sheet.rows] == [3]


def test_a_file_over_the_set_size_is_refused(settings):
    settings.IMPORT_MAX_BYTES = 60
    assert "larger than the 60 bytes" in only(read(b"code,name,seen_on\n" + b"B-1,buns,\n" * 5))
    assert len(read(b"code,name,seen_on\n" + b"B-1,buns,\n" * 4).rows) == 4


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_more_rows_than_one_import_takes_are_refused(settings, form):
    settings.IMPORT_MAX_ROWS = 3
    for count, fits in ((3, True), (4, False)):
        rows = [list(COLUMNS), *([f"B-{n}", "buns", ""] for n in range(count))]
        data = csv_bytes(rows) if form == "csv" else xlsx_file(rows).read()
        assert (not read(data).problems) is fits


def test_a_cell_longer_than_the_csv_module_likes_is_read():
    sheet = read(b"code,name,seen_on\nB-1," + b"x" * 200_000 + b",\n")
    assert len(sheet.rows[0].cells["name"]) == 200_000


def test_xlsx_holds_the_same_text_as_csv():
    rows = [["code", "name", "seen_on"], [730001100001, True, date(2026, 3, 8)], [1.5, None, datetime(2026, 3, 8)]]  # noqa: DTZ001 - spreadsheets know no time zones
    assert cells(read(xlsx_file(rows).read())) == [
        (2, {"code": "730001100001", "name": "true", "seen_on": "2026-03-08"}),
        (3, {"code": "1.5", "name": "", "seen_on": "2026-03-08"}),
    ]


def test_an_xlsx_row_that_ends_early_is_no_ragged_row():
    assert cells(read(xlsx_file([["code", "name", "seen_on"], ["B-1"]]).read())) == [
        (2, {"code": "B-1", "name": "", "seen_on": ""})
    ]


def test_a_formula_is_refused_and_never_worked_out():
    sheet = read(xlsx_file([list(COLUMNS), ["B-1", "=1+1", ""], ["B-2", "buns", ""]]).read())
    assert only(sheet) == (
        "Row 2, B2: The cell holds a formula, and formulas are not worked out here. "
        "Copy the column and paste it back as values."
    )
    assert [row.number for row in sheet.rows] == [3]


def test_an_error_cell_is_refused():
    assert "shows the error #N/A" in only(read(xlsx_file([list(COLUMNS), ["B-1", "#N/A", ""]]).read()))


def test_rows_outside_the_size_that_a_workbook_states_are_read():
    """A stated size that is too small must not make rows vanish."""
    data = _edited(xlsx_file([list(COLUMNS), ["B-1", "a", ""], ["B-2", "b", ""]]).read(), b"A1:C3", b"A1:C2")
    assert [row.number for row in read(data).rows] == [2, 3]


def test_a_row_number_beyond_all_bounds_is_refused_at_once():
    data = _edited(xlsx_file([list(COLUMNS), ["B-1", "a", ""]]).read(), b'<row r="2"', b'<row r="9999999999"')
    assert "The sheet goes on below row" in only(read(data))


def test_a_workbook_that_unpacks_to_far_more_than_it_weighs_is_refused(settings):
    settings.IMPORT_MAX_BYTES = 20_000
    out = io.BytesIO(xlsx_file([list(COLUMNS), ["B-1", "a", ""]]).read())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/media/picture", b"0" * 3_000_000)
    assert len(out.getvalue()) < 20_000
    assert "Unpacked, the file would be larger" in only(read(out.getvalue()))


def test_a_zip_that_lies_about_its_size_yields_no_more_than_it_says():
    """The bomb guard relies on this property of zipfile."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a", b"0" * 100_000)
    lying = out.getvalue().replace((100_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    found_out = contextlib.suppress(zipfile.BadZipFile)  # by the checksum, which is just as well
    with found_out, zipfile.ZipFile(io.BytesIO(lying)) as archive:
        assert len(archive.read("a")) <= 10


def test_only_the_first_sheet_counts():
    book = Workbook()
    book.active.append(list(COLUMNS))
    book.active.append(["B-1", "buns", ""])
    book.create_sheet("other").append(["nothing", "to", "do", "with", "it"])
    out = io.BytesIO()
    book.save(out)
    assert len(read(out.getvalue()).rows) == 1
    assert load_workbook(io.BytesIO(out.getvalue())).sheetnames[0] == "Sheet"


def _edited(data: bytes, old: bytes, new: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            target.writestr(name, part.replace(old, new) if name.startswith("xl/worksheets/") else part)
    assert old not in zipfile.ZipFile(io.BytesIO(out.getvalue())).read("xl/worksheets/sheet1.xml")
    return out.getvalue()
