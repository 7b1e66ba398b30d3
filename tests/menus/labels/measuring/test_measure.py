"""Scoring rows by hand-made files, small enough to count by eye."""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from menus.labels.measuring.measure import measure
from menus.labels.measuring.rows import BadFile, is_aside

DECLARED = [
    {"id": "0", "region": "us", "statement": "sugar, whey, soybean oil", "declared_contains": ["milk"]},
    {"id": "1", "region": "us", "statement": "sugar, egg whites, almonds", "declared_contains": ["eggs", "peanuts"]},
    {"id": "2", "region": "us", "statement": "nuts, zorbalex", "declared_contains": []},
    {"id": "3", "region": "other-en", "statement": "sugar", "declared_contains": None},
]


def figures(path: Path, rows: list[dict[str, Any]]) -> dict[str, tuple[int, int]]:
    path.write_text("\n".join(json.dumps(row) for row in rows), encoding="utf-8")
    found = measure(path)
    return {figure.name.strip(): (figure.proportion.hits, figure.proportion.of) for figure in found.figures()}


def declared(**changed: Any) -> list[dict[str, Any]]:
    return [{"declared_may": [], "unknown": ["sesame"], **row, **changed} for row in DECLARED]


def test_declarations_are_counted_pair_by_pair(tmp_path: Path) -> None:
    """Missed, precision, exact set, doubt; a row without a declaration scores nothing; unknown groups are left out."""
    told = figures(tmp_path / "rows.jsonl", declared())
    assert told["missed: neither present nor possible"] == (1, 3)  # the peanuts
    assert told["precision of present"] == (2, 4)  # milk and egg right, almonds and "nuts" not declared
    assert told["exact set"] == (1, 3)  # the first
    assert told["no unread word"] == (2, 3)
    assert told["refined oil as the only doubt"] == (1, 7 + 6 + 8)
    assert told["needless doubt, refined oil apart"] == (1, 7 + 6 + 8)  # "nuts": a peanut may be meant
    assert told["missed peanut"] == (1, 1)


def test_precautions_are_put_back_into_words(tmp_path: Path) -> None:
    """Each warned group is looked for in three wordings, on rows without a declaration too."""
    told = figures(tmp_path / "rows.jsonl", declared(declared_may=["tree_nuts", "milk"]))
    assert told["precautions found, put back into words"] == (24, 24)


def test_glosses_keep_vague_phrases_apart(tmp_path: Path) -> None:
    """A phrase that names nothing counts under its own line."""
    rows = [
        {
            "id": "0",
            "statement": "cream, enzymes, glorp",
            "text": "cream (milk), enzymes (egg), glorp (soy)",
            "positive": ["milk", "egg", "soybeans"],
            "glosses": [
                {"ingredient": "cream", "groups": ["milk"], "vague_ingredient": False},
                {"ingredient": "enzymes", "groups": ["egg"], "vague_ingredient": True},
                {"ingredient": "glorp", "groups": ["soybeans"], "vague_ingredient": False},
            ],
        }
    ]
    told = figures(tmp_path / "rows.jsonl", rows)
    assert (told["found milk"], told["found soy"], told["found egg"]) == ((1, 1), (0, 1), (0, 0))
    assert told["found egg where the phrase is vague"] == (0, 1)


def test_tags_count_traces_only_where_the_text_warns(tmp_path: Path) -> None:
    """A trace tag on a text without a warning was read elsewhere on the package."""
    row = {"id": "0", "region": "us", "allergens_eu14": ["milk", "celery"], "traces_eu14": ["eggs"]}
    told = figures(
        tmp_path / "rows.jsonl", [row | {"text": "whey. May contain eggs"}, row | {"text": "whey, celery salt"}]
    )
    assert told["tagged as ingredient: found"] == (3, 4)
    assert told["tagged as traces: found"] == (1, 1)


def test_the_command_prints_the_figures_and_writes_the_errors(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Gzipped or not; the region and the third asked for; every row that needs a look, as JSON."""
    path, errors = tmp_path / "rows.jsonl.gz", tmp_path / "errors.jsonl"
    path.write_bytes(gzip.compress("\n".join(json.dumps(row) for row in declared()).encode()))
    call_command("measure_labels", path, "--errors", errors)
    printed = capsys.readouterr().out
    assert "33.33%  (1 of 3; 95 % interval" in printed
    assert "bar at most 0.7%: NOT met" in printed
    wrong = [json.loads(line) for line in errors.read_text(encoding="utf-8").splitlines()]
    assert [(row["id"], row["missed"], row["not_declared"]) for row in wrong] == [
        ("1", ["peanut"], ["tree-nut"]),
        ("2", [], ["tree-nut"]),
    ]
    call_command("measure_labels", path, "--only", "aside", "--errors", errors)
    assert "(1 of 1;" in capsys.readouterr().out


def test_two_thirds_are_worked_on() -> None:
    """The third aside is told by the id alone, so that it stays the same for ever."""
    assert [is_aside({"id": f"{number:x}"}) for number in range(6)] == [False, False, True, False, False, True]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "line 1: not JSON"),
        ("[]", "line 1: not an object"),
        ('{"id": "1"}', "none of the columns"),
        ("", "no row"),
    ],
)
def test_a_file_that_measures_nothing_is_refused(tmp_path: Path, text: str, message: str) -> None:
    """The sentence names the file, what is wrong, and how to mend it."""
    path = tmp_path / "rows.jsonl"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadFile, match=message):
        measure(path)
    with pytest.raises(CommandError, match=message):
        call_command("measure_labels", path, "--errors", tmp_path / "errors.jsonl")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """An unreadable path ends with a sentence."""
    with pytest.raises(CommandError, match=r"missing\.jsonl could not be opened"):
        call_command("measure_labels", tmp_path / "missing.jsonl", "--errors", tmp_path / "errors.jsonl")
