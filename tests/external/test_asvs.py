"""The page on application security against the numbers of OWASP's ASVS 5.0.0 (read), and against what it names here."""

from __future__ import annotations

import csv
import re
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "reference" / "asvs.md").read_text(encoding="utf-8")
STATES = {"met", "part", "gap", "operator", "none"}


def wanted() -> set[str]:
    """Every requirement of levels 1 and 2, by number."""
    found: set[str] = set()
    with (Path(__file__).parent / "data" / "asvs_5_0.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            numbers = {str(number) for number in range(1, int(row["requirements"]) + 1)} - {*row["level_3"].split()}
            found |= {f"{row['section']}.{number}" for number in numbers}
    return found


def rows() -> list[list[str]]:
    """The rows of the page's tables."""
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in PAGE.splitlines() if line[:2] == "| "]
    return [row for row in cells if row[0] != "numbers"]


def test_every_requirement_has_one_answer() -> None:
    """None is missing, none is there twice, none is made up."""
    answered = Counter(number.strip() for row in rows() for number in row[0].split(","))
    assert len(wanted()) > 200
    assert [number for number, times in answered.items() if times > 1] == []
    assert sorted(wanted() - answered.keys()) == []
    assert sorted(answered.keys() - wanted()) == []


def test_every_answer_has_a_state_and_every_gap_is_told() -> None:
    """What is not met, or in part, is explained on the spot or below."""
    assert {row[2] for row in rows()} == STATES
    gaps = PAGE.split("## The gaps")[1]
    for row in rows():
        if row[2] == "gap":
            assert any(number.strip() in gaps for number in row[0].split(",")), row
        if row[2] in ("part", "operator", "met"):
            assert row[3], row


def test_what_it_names_is_there() -> None:
    """Every test and module that is said to meet a point exists."""
    named = set(re.findall(r"`((?:tests|compliance|roster|menus)/[\w/.]+)`", PAGE))
    assert len(named) > 30
    assert sorted(each for each in named if not (ROOT / each).exists()) == []
