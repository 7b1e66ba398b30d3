"""Exports against the cases of OWASP's page on CSV injection: no cell of ours is a formula when somebody opens it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.reports.neutral import harmless

with (Path(__file__).parent / "data" / "csv_injection.csv").open(encoding="utf-8", newline="") as lines:
    ROWS = list(csv.DictReader(lines))


def signs(cell: str) -> str:
    """The data file writes tab, carriage return and line feed as two characters, so that it can be read."""
    return cell.replace("\\t", "\t").replace("\\r", "\r").replace("\\n", "\n")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["note"])
def test_cases(row):
    assert harmless(signs(row["text"])) == signs(row["written"])


@given(st.text())
def test_no_cell_begins_like_a_formula_and_no_text_is_lost(text):
    written = harmless(text)
    assert written.strip()[:1] not in ("=", "+", "-", "@")
    assert written.removeprefix("'") == text.removeprefix("'")


@given(st.lists(st.text(alphabet=st.characters(exclude_characters="\x00", exclude_categories=["Cs"])), min_size=1))
def test_a_quoted_line_reads_back_as_the_cells_it_was_written_from(cells):
    out = io.StringIO(newline="")
    csv.writer(out, quoting=csv.QUOTE_ALL).writerow([harmless(cell) for cell in cells])
    (read,) = csv.reader(io.StringIO(out.getvalue(), newline=""))
    assert read == [harmless(cell) for cell in cells]
