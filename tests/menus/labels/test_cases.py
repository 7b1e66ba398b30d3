"""Curated labels, one row each: what must be present, what possible, what must not be there, and on what basis."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from _pytest.mark.structures import ParameterSet

from menus.labels.jsonl import answer
from menus.labels.label import LabelText

CASES = Path(__file__).parent / "cases"


def codes(cell: str) -> set[str]:
    return {code for code in cell.split(";") if code}


def rows() -> Iterator[ParameterSet]:
    for path in sorted(CASES.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            for number, row in enumerate(csv.DictReader(lines), start=2):
                yield pytest.param(row, id=f"{path.stem}-{number}-{row['text'][:40]}")


@pytest.mark.parametrize("row", list(rows()))
def test_case(row: dict[str, str]) -> None:
    """The label says what its row says it must, no more of what it must not, and no less."""
    label = LabelText(
        row["text"],
        jurisdiction=row["jurisdiction"],
        regulator=row["regulator"],
        seen_on=date.fromisoformat(row["seen_on"]) if row["seen_on"] else None,
    )
    says = answer(label)
    assert codes(row["present"]) <= set(says["present"]), says["kinds"]
    assert codes(row["possible"]) <= set(says["possible"]), says["kinds"]
    assert not codes(row["absent"]) & {*says["present"], *says["possible"]}, says["kinds"]


def test_both_kinds_of_case_are_there() -> None:
    """A missed alarm hurts a child, a false one teaches staff to ignore us: the cases hold both in numbers."""
    all_rows = [
        row for path in CASES.glob("*.csv") for row in csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))
    ]
    must_fire = [row for row in all_rows if row["present"] or row["possible"]]
    must_not_fire = [row for row in all_rows if row["absent"]]
    quiet = [row for row in all_rows if row not in must_fire]
    assert len(all_rows) >= 800
    assert len(must_fire) >= 400
    assert len(must_not_fire) >= 400
    assert len(quiet) >= 200  # nothing looked for is there at all
    assert all(row["basis"] for row in all_rows)
