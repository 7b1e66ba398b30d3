"""The benchmark's own parts: what it makes, what it compares, what it prints."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from menus.labels.lexicon import Lexicon
from menus.labels.measuring.speed import INGREDIENTS, Growth, Speed, alternation_speed, growths, made_labels
from menus.management import speed


def test_made_labels_are_the_same_on_every_run() -> None:
    """Forty ingredients each, dealt from the lexicon."""
    labels = made_labels(Lexicon.load(), 3)
    assert labels == made_labels(Lexicon.load(), 3)
    assert [label.count(",") for label in labels] == [INGREDIENTS - 1] * 3


def test_the_alternation_knows_the_whole_lexicon() -> None:
    """It compiles, and it is timed on every text given."""
    speed = alternation_speed(Lexicon.load(), ["MILK, SALT"])
    assert (speed.texts, speed.name) == (1, "regular expression")
    assert Speed("x", 10, 2.0).rate == 5.0


def test_hostile_texts_are_timed_at_every_size() -> None:
    """Brackets, commas and near misses among them."""
    told = list(growths((20, 40)))
    assert {growth.name for growth in told} >= {"open brackets", "commas", "near misses"}
    assert all(len(growth.seconds) == 2 for growth in told)


def test_the_command_prints_ratios_and_growth(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On made labels, and on the statements of a file that are about as long."""
    monkeypatch.setattr(speed, "growths", lambda sizes: [Growth("commas", (1.0, 10.0, 105.0))])
    call_command("benchmark", "labels", "--count", "4")
    printed = capsys.readouterr().out
    assert "4 labels of about 40 ingredients" in printed
    assert "times as fast" in printed
    assert "x10.0 x10.5" in printed
    path = tmp_path / "statements.jsonl"
    texts = [*made_labels(Lexicon.load(), 2), "sugar, salt"]
    path.write_text("\n".join(json.dumps({"id": "0", "statement": text}) for text in texts), encoding="utf-8")
    call_command("benchmark", "labels", "--statements", path)
    assert "2 labels of about 40 ingredients" in capsys.readouterr().out


def test_a_file_without_long_labels_is_refused(tmp_path: Path) -> None:
    """The sentence says what to give instead."""
    path = tmp_path / "statements.jsonl"
    path.write_text('{"id": "0", "statement": "salt"}', encoding="utf-8")
    with pytest.raises(CommandError, match="give a longer file"):
        call_command("benchmark", "labels", "--statements", path)
    with pytest.raises(CommandError, match=r"missing\.jsonl could not be opened"):
        call_command("benchmark", "labels", "--statements", tmp_path / "missing.jsonl")
