"""`credit_recipe` from file to file and through pipes, without a database."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management import CommandError, call_command

from menus.mealpattern.crediting.jsonl import answer

KEYS = [
    *("meat_oz_eq", "meat_alternate_oz_eq", "meat_meat_alternate_oz_eq", "grains_oz_eq", "dark_green_cup"),
    *("red_orange_cup", "starchy_cup", "other_veg_cup", "legume_cup", "vegetable_cup", "fruit_cup", "milk_cup"),
]
RICE = {"id": "rice", "servings": 2, "ingredients": [{"name": "brown rice, dry", "weight": "56 g"}]}
CREDITS = {"grains_oz_eq": 1.0}


def written(path: Path, *rows: object) -> Path:
    path.write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    return path


def test_from_file_to_file(tmp_path: Path) -> None:
    """One line for each, in order, and a count for the person at the keyboard."""
    out, said = tmp_path / "out.jsonl", io.StringIO()
    call_command("credit_recipe", str(written(tmp_path / "in.jsonl", RICE, RICE)), str(out), stdout=said)
    assert [json.loads(line)["credits"] for line in out.read_text().splitlines()] == [CREDITS, CREDITS]
    assert said.getvalue() == "2 recipes credited.\n"


def test_through_pipes(monkeypatch: pytest.MonkeyPatch) -> None:
    """With `-` twice, nothing but the answers is on standard output."""
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(json.dumps(RICE).encode())))
    said = io.StringIO()
    call_command("credit_recipe", "-", "-", stdout=said)
    assert [json.loads(line)["credits"] for line in said.getvalue().splitlines()] == [CREDITS]


def test_bad_lines_end_in_an_error_and_lose_nothing(tmp_path: Path) -> None:
    """The good lines are written, the bad one says in its place how to mend it, and the command fails."""
    out = tmp_path / "out.jsonl"
    with pytest.raises(CommandError, match="1 lines were not recipes"):
        call_command("credit_recipe", str(written(tmp_path / "in.jsonl", RICE, {"id": "x"}, RICE)), str(out))
    rows = [json.loads(line) for line in out.read_text().splitlines()]
    assert [row.get("credits") for row in rows] == [CREDITS, None, CREDITS]
    assert rows[1]["id"] == "x" and rows[1]["error"].startswith("Line 2: 'ingredients' is missing")


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    """And nothing is written."""
    with pytest.raises(CommandError, match=r"absent\.jsonl could not be opened"):
        call_command("credit_recipe", str(tmp_path / "absent.jsonl"), str(tmp_path / "out.jsonl"))
    assert not (tmp_path / "out.jsonl").exists()


def test_reading_and_writing_one_file_is_refused(tmp_path: Path) -> None:
    """Opening it for writing would empty it."""
    path = written(tmp_path / "in.jsonl", RICE)
    with pytest.raises(CommandError, match="nothing was touched"):
        call_command("credit_recipe", str(path), str(path))
    assert json.loads(path.read_text())["id"] == "rice"


def test_the_example_of_the_reference_is_what_comes_out() -> None:
    """docs/reference/credit_recipe.md shows a recipe and its answer; both are run."""
    page = (Path(__file__).parents[4] / "docs" / "reference" / "credit_recipe.md").read_text(encoding="utf-8")
    recipe, told = (json.loads(block) for block in re.findall(r"```\n(\{.*?)\n```", page, re.DOTALL))
    assert {"id": recipe["id"], **answer(recipe)} == told


def test_every_key_is_explained_in_the_reference() -> None:
    """A key without a row in the table would have to be guessed."""
    page = (Path(__file__).parents[4] / "docs" / "reference" / "credit_recipe.md").read_text(encoding="utf-8")
    for key in KEYS:
        assert f"`{key}`" in page, key
