"""Workbooks that were made to do harm: refused in a sentence, before the memory or the time of the service is gone.

The forms of attack are those of OWASP's pages on XML external entities and on zip bombs (names from memory).
"""

from __future__ import annotations

import io
import time
import tracemalloc
import zipfile
from collections.abc import Callable

import pytest

from menus.imports.sheet import Sheet, read_sheet
from menus.imports.xlsx_sheet import WIDEST
from tests.menus.imports.files import xlsx_file

COLUMNS = ("code", "name", "seen_on")
SHEET = "xl/worksheets/sheet1.xml"
QUICK, LITTLE = 5.0, 100_000_000
"""Seconds, and bytes of memory, within which an attack is seen through."""

LAUGHS = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))


def read(data: bytes) -> Sheet:
    return read_sheet(io.BytesIO(data), COLUMNS)


def only(sheet: Sheet) -> str:
    (problem,) = sheet.problems
    return str(problem)


def edited(change: Callable[[str], bytes], part: str = SHEET) -> bytes:
    """A sound workbook with one of its parts changed."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(xlsx_file([list(COLUMNS), ["B-1", "buns", ""]])) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, change(data.decode()) if name == part else data)
    return out.getvalue()


def declared(entity: str, form: str = "utf-8") -> Callable[[str], bytes]:
    """Put a declaration before the root of the part, and the entity into the cell that says “buns”."""

    def change(xml: str) -> bytes:
        head, _, body = xml.partition("<worksheet")
        text = f"{head}<!DOCTYPE x [{entity}]><worksheet{body}".replace("<v>1</v>", "<v>&e9;</v>")
        return text.encode(form)

    return change


@pytest.mark.parametrize(
    ("entity", "form"),
    [
        (f'<!ENTITY e0 "ha">{LAUGHS}', "utf-8"),
        (f'<!ENTITY e0 "ha">{LAUGHS}', "utf-16"),
        ('<!ENTITY e9 SYSTEM "file:///etc/hostname">', "utf-8"),
        ('<!ENTITY e9 SYSTEM "http://127.0.0.1:9/">', "utf-8"),
    ],
)
def test_a_workbook_that_declares_entities_is_refused_before_it_is_read(entity: str, form: str) -> None:
    assert "declares entities of its own" in only(read(edited(declared(entity, form))))


def test_a_declaration_in_a_part_of_any_name_is_seen() -> None:
    """The file itself says which part is the sheet, so the ending of a name proves nothing."""
    out = io.BytesIO(xlsx_file([list(COLUMNS), ["B-1", "buns", ""]]).read())
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("xl/media/picture.png", b"<!DOCTYPE x>")
    assert "declares entities" in only(read(out.getvalue()))


def test_a_part_that_unpacks_to_very_many_times_its_weight_is_refused() -> None:
    """Below the limit for the whole, and still no table."""
    data = edited(lambda xml: xml.replace("</sheetData>", "</sheetData>" + " " * 3_000_000).encode())
    assert "more than 200 times its weight" in only(read(data))


def test_a_sheet_that_says_it_is_as_large_as_sheets_can_be_takes_no_more_than_it_holds() -> None:
    """ECMA-376: 1,048,576 rows of 16,384 columns at most. The stated size is not believed."""
    data = edited(lambda xml: xml.replace("A1:C2", "A1:XFD1048576").encode())
    tracemalloc.start()
    begun = time.monotonic()
    sheet = read(data)
    took, (_, most) = time.monotonic() - begun, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [row.number for row in sheet.rows] == [2]
    assert took < QUICK
    assert most < LITTLE


def test_a_cell_at_the_far_right_is_refused() -> None:
    data = edited(lambda xml: xml.replace('r="C2"', 'r="XFD2"').replace('r="B2"', 'r="XFC2"').encode())
    said = only(read(data))
    assert "has a cell in column 16" in said
    assert WIDEST < 16_000


def test_rows_that_are_left_empty_up_to_the_last_one_are_refused() -> None:
    data = edited(lambda xml: xml.replace('<row r="2"', '<row r="1048576"').encode())
    assert "The sheet goes on below row" in only(read(data))


def test_a_sound_workbook_is_none_of_these() -> None:
    assert [row.number for row in read(edited(str.encode)).rows] == [2]
