"""Exports of exceptions: whole, harmless, and telling from what they were made."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from openpyxl import load_workbook

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.run import check_site
from compliance.models import Run
from compliance.reports.exceptions_csv import exceptions_csv
from compliance.reports.exceptions_head import CAUTION, Head, exceptions_head
from compliance.reports.exceptions_table import COLUMNS
from compliance.reports.exceptions_xlsx import HEADER_ROW, exceptions_xlsx
from compliance.rules.values import Outcome
from menus.models import Site
from tests.cast import Cast
from tests.factories import ServingFactory

TITLES = [column.title for column in COLUMNS]
AT = datetime(2026, 10, 13, 22, 5, 17, tzinfo=ZoneInfo("UTC"))
BANNED = ("safe", "allergy-free", "ok to eat", "cleared", "guaranteed")

Export = tuple[list[ExceptionRow], Head]


@pytest.fixture
def export(cast: Cast) -> Export:
    cast.mateo.given_name, cast.mateo.family_name = '=HYPERLINK("x")', 'O"Brien, Lee'
    cast.mateo.save()
    for site in (cast.ferrowick, cast.tansy_gate):
        site.time_zone = "America/Chicago"
        site.save()
    return checked(cast)


def checked(cast: Cast, **asked) -> Export:
    for site in (cast.ferrowick, cast.tansy_gate):
        check_site(site=site, trigger=Run.Trigger.HAND)
    return exported(cast, **asked)


def exported(cast: Cast, **asked) -> Export:
    day = timezone.localdate()
    wanted = ExceptionFilter(first=day, last=day + timedelta(days=6), **asked)
    rows = find_exceptions(cast.june, wanted)
    return rows, exceptions_head(wanted, rows, sites=Site.objects.all(), user=cast.june, at=AT)


def read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def table(data: bytes) -> list[dict[str, str]]:
    lines = read(data)
    return [dict(zip(TITLES, line, strict=True)) for line in lines[lines.index(TITLES) + 1 :]]


def test_every_exception_is_a_line_with_its_reasons_and_label_words(export):
    rows, head = export
    lines = table(exceptions_csv(rows, head))
    assert len(lines) == len(rows) > 5
    line = next(line for line in lines if line["Child"].startswith("Anneke"))
    assert (line["Outcome"], line["Dish"], line["Avoids"]) == ("withhold", "Oat bar", "milk")
    assert "milk" in line["Words on the label"]
    assert "Oat bar" in line["From dish to label"]
    assert line["Date"] == timezone.localdate().isoformat()
    assert line["Run"] == str(rows[0].run.pk)


def test_a_name_that_looks_like_a_formula_is_text_in_both_files(export):
    rows, head = export
    name = '=HYPERLINK("x") O"Brien, Lee'
    assert f"'{name}" in {line["Child"] for line in table(exceptions_csv(rows, head))}
    sheet = load_workbook(io.BytesIO(exceptions_xlsx(rows, head))).worksheets[0]
    (cell,) = {cell for column in sheet.iter_cols(min_row=HEADER_ROW + 1) for cell in column if cell.value == name}
    assert (cell.data_type, cell.quotePrefix) == ("s", True)


def test_no_cell_of_the_csv_begins_like_a_formula(export):
    assert not [cell for line in read(exceptions_csv(*export)) for cell in line if cell.strip()[:1] in "=+-@" and cell]


def test_all_lines_have_the_same_number_of_cells(export):
    assert {len(line) for line in read(exceptions_csv(*export))} == {len(COLUMNS)}


def test_the_head_tells_when_from_what_by_whom_and_with_what_caution(export):
    rows, head = export
    lines = {line[0]: line[1] for line in read(exceptions_csv(rows, head))}
    assert lines["Exported"] == "2026-10-13T17:05:17-05:00 by June"
    assert lines["Time zone"] == "America/Chicago"
    for run in Run.objects.all():
        assert f"run {run.pk} of {run.site}, as of {run.as_of.astimezone(run.site.zone).date()}T" in lines["Read from"]
    assert lines["Caution"] == CAUTION
    assert lines["Exceptions"] == str(len(rows))
    assert lines["Not checked"] == "no serving of these days"
    assert lines["Filter"] == "none"


def test_the_head_tells_the_filter_in_words(cast):
    asked = {"site": cast.ferrowick, "classroom": cast.larks, "outcome": Outcome.WITHHOLD, "substance": "milk"}
    _, head = checked(cast, **asked)
    assert head.filter == "site: Ferrowick Elementary School; class: Larks; outcome: withhold; substance: milk"
    assert not any("Tansy Gate" in run for run in head.runs)


def test_an_empty_export_tells_what_nobody_has_checked(cast):
    """Silence is not absence: without a run an empty list says nothing."""
    rows, head = exported(cast)
    assert rows == []
    lines = {line[0]: line[1] for line in read(exceptions_csv(rows, head))}
    assert lines["Read from"] == "no run: nothing has been checked yet"
    assert lines["Not checked"] == "Ferrowick Elementary School: 3 servings; Tansy Gate Daycare: 1 servings"


def test_a_run_without_exceptions_is_named_all_the_same(cast):
    _, head = checked(cast, substance="sesame")
    assert len(head.runs) == 2


def test_sites_of_several_clocks_are_told_by_that_of_the_service(cast):
    for site, zone in ((cast.ferrowick, "America/Chicago"), (cast.tansy_gate, "America/Denver")):
        site.time_zone = zone
        site.save()
    _, head = checked(cast)
    assert str(head.made_at.tzinfo) == "UTC"


def test_the_file_name_tells_days_and_no_child(export):
    _, head = export
    day = timezone.localdate()
    assert head.file_name("csv") == f"exceptions-{day}-to-{day + timedelta(days=6)}.csv"


def test_the_workbook_has_typed_dates_a_fixed_header_and_wrapped_reasons(export):
    rows, head = export
    sheet = load_workbook(io.BytesIO(exceptions_xlsx(rows, head))).worksheets[0]
    assert [cell.value for cell in sheet[HEADER_ROW]] == TITLES
    first = sheet.cell(HEADER_ROW + 1, 1)
    assert (first.value.date(), first.number_format) == (timezone.localdate(), "yyyy-mm-dd")
    assert sheet.freeze_panes == f"A{HEADER_ROW + 1}"
    assert sheet.max_row == HEADER_ROW + len(rows)
    assert sheet.auto_filter.ref == f"A{HEADER_ROW}:U{HEADER_ROW + len(rows)}"
    assert sheet.cell(HEADER_ROW + 1, TITLES.index("Reasons") + 1).alignment.wrap_text


def test_the_workbook_prints_across_one_page_with_its_header_on_each(export):
    sheet = load_workbook(io.BytesIO(exceptions_xlsx(*export))).worksheets[0]
    page = sheet.page_setup
    assert (page.orientation, page.fitToWidth, page.fitToHeight) == ("landscape", 1, 0)
    width = sum(sheet.column_dimensions[letter].width for letter in "ABCDEFGHIJK")
    assert sheet.print_area.endswith(f"$A$1:$K${sheet.max_row}")
    assert width < 190  # more characters across a sheet of paper and nobody can read them
    assert sheet.print_title_rows == f"$1:${HEADER_ROW}"
    assert "Page &P of &N" in sheet.oddFooter.right.text


def test_outcomes_are_told_apart_by_shape_in_grey(export):
    """A solid block and a hatching; the word stands in both."""
    sheet = load_workbook(io.BytesIO(exceptions_xlsx(*export))).worksheets[0]
    at = TITLES.index("Outcome") + 1
    outcomes = (sheet.cell(row, at) for row in range(HEADER_ROW + 1, sheet.max_row + 1))
    looks = {cell.value: cell.fill.patternType for cell in outcomes}
    assert looks["withhold"] == "solid"
    assert looks.get("refer", "lightUp") == "lightUp"


def test_the_second_sheet_holds_the_head(export):
    rows, head = export
    sheet = load_workbook(io.BytesIO(exceptions_xlsx(rows, head))).worksheets[1]
    assert [(line[0], line[1]) for line in sheet.iter_rows(values_only=True)] == head.lines


def test_signs_that_no_workbook_takes_are_left_out(cast):
    cast.mateo.given_name = "Ma\x0bteo"
    cast.mateo.save()
    rows, head = checked(cast)
    assert any(line["Child"].startswith("Mateo") for line in table(exceptions_csv(rows, head)))
    exceptions_xlsx(rows, head)


def test_no_word_that_could_pass_for_a_promise(export):
    rows, head = export
    book = load_workbook(io.BytesIO(exceptions_xlsx(rows, head)))
    cells = [str(cell) for sheet in book for line in sheet.iter_rows(values_only=True) for cell in line]
    said = f"{exceptions_csv(rows, head).decode()} {' '.join(cells)}".casefold()
    assert not [word for word in BANNED if word in said]


def test_the_head_costs_four_queries_whatever_the_size(cast, django_assert_num_queries):
    day = timezone.localdate()
    for servings in (0, 5):
        for ahead in range(1, servings + 1):
            ServingFactory(site=cast.ferrowick, recipe=cast.dishes.oat_bar, date=day + timedelta(days=ahead))
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        asked = ExceptionFilter(first=day, last=day + timedelta(days=6))
        rows = find_exceptions(None, asked)
        sites = list(Site.objects.all())
        with django_assert_num_queries(4):  # newest runs, servings not checked, failed checks, runs that stand
            exceptions_head(asked, rows, sites=sites, user=None, at=AT)


def test_dates_are_those_of_the_servings(export):
    rows, _ = export
    assert {type(row.date) for row in rows} == {date}
