"""Rows of a file: one answer a line, in order, bad lines said to be bad."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from menus.labels.jsonl import answer, read_lines
from menus.labels.label import LabelText


def test_the_answer_gives_group_and_member() -> None:
    """A cashew is reported with its group; what is present is not also possible."""
    says = answer(LabelText("cashews, spices, xqzw. May contain tree nuts."))
    assert {"tree-nut", "tree-nut.cashew"} <= set(says["present"])
    assert "tree-nut" not in says["possible"]
    assert "mustard" in says["possible"]
    assert says["unread"] == ["xqzw"]
    assert says["kinds"]["tree-nut"] == ["may-contain", "named"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (b"{", "is not a JSON object"),
        (b"\xff\xfe", "is not UTF-8"),
        (b"[]", "not an object"),
        (b"", "is not a JSON object"),
        (b'{"ingredients": "milk"}', "'id' is missing"),
        (b'{"id": 7}', "'ingredients' is missing"),
        (b'{"id": 7, "ingredients": ["milk"]}', "'ingredients' must be text, not list"),
        (b'{"id": 7, "ingredients": "milk", "contains": 3}', "'contains' must be text, not int"),
        (b'{"id": 7, "ingredients": "' + b"m" * 20_001 + b'"}', "20,001 characters"),
        (b"[" * 100_000, "is not a JSON object"),
        (b'{"id": 7, "ingredients": "", "supplied": {"AM": 1}}', "'supplied' must be text or a list, not dict"),
        (b'{"id": 7, "ingredients": "", "supplied": ["AM"]}', "entry 1 of 'supplied' is not"),
        (b'{"id": 7, "ingredients": "", "supplied": [{"code": "AM", "level": 50}]}', "entry 1 of 'supplied' is not"),
        (b'{"id": 7, "ingredients": "", "supplied": [{"level": "CONTAINS"}]}', "has no 'code'"),
    ],
)
def test_a_bad_line_is_answered_in_its_place(line: bytes, message: str) -> None:
    """The lines around it are read, and its own answer says what is wrong."""
    good = b'{"id": "g", "ingredients": "milk"}'
    answers = [json.loads(each.line) for each in read_lines([good, line, good], "us")]
    assert [each.get("id") for each in answers] == ["g", answers[1]["id"], "g"]
    assert message in answers[1]["error"]
    assert answers[1]["error"].startswith("Line 2: ")
    assert set(answers[1]) == {"id", "error"}
    assert answers[0] == answers[2]


@pytest.mark.parametrize(
    "supplied",
    [
        "AM CONTAINS\nSC MAY_CONTAIN\nAS\nAE FREE_FROM",
        [
            {"code": "gs1:AllergenTypeCode-MILK", "level": "gs1:LevelOfContainmentCode-CONTAINS"},
            {"code": "SC", "level": "may contain"},
            {"code": "AS"},
            {"code": "AE", "level": "FREE_FROM"},
        ],
    ],
)
def test_a_supplier_s_codes_are_read_beside_the_words(supplied: object) -> None:
    """As text or one by one."""
    row = {"id": 1, "ingredients": "cocoa, egg", "supplied": supplied}
    (each,) = read_lines([json.dumps(row).encode()], "us")
    says = json.loads(each.line)
    assert says["kinds"]["milk"] == ["declared", "disagreement"]
    assert says["kinds"]["tree-nut.cashew"] == ["may-contain"]
    assert says["kinds"]["sesame"] == ["unread-word"]
    assert says["kinds"]["egg"] == ["claim-contradicted", "named"]
    assert len(says["unread"]) == 1


def test_the_command_writes_a_line_for_each(tmp_path: Path) -> None:
    """One answer a line, in the order of the input, under the jurisdiction asked for."""
    source, target = tmp_path / "in.jsonl", tmp_path / "out.jsonl"
    source.write_text('{"id": 1, "ingredients": "spices"}\n{"id": 2, "ingredients": "", "contains": "milk"}\n')
    call_command("read_labels", source, target, "--jurisdiction", "eu", verbosity=0)
    first, second = (json.loads(line) for line in target.read_text().splitlines())
    assert (first["id"], first["possible"]) == (1, [])
    assert (second["present"], second["kinds"]["*"]) == (["milk"], ["no-label"])


def test_the_command_fails_when_a_line_was_bad(tmp_path: Path) -> None:
    """The good lines are written all the same, and the exit code says that not all were good."""
    source, target = tmp_path / "in.jsonl", tmp_path / "out.jsonl"
    source.write_text('{"id": 1, "ingredients": "milk"}\nnonsense\n')
    with pytest.raises(CommandError, match="1 lines were not label rows"):
        call_command("read_labels", source, target, verbosity=0)
    assert len(target.read_text().splitlines()) == 2


def test_the_command_says_which_file_it_cannot_open(tmp_path: Path) -> None:
    """A wrong path is named."""
    with pytest.raises(CommandError, match=r"missing\.jsonl could not be opened"):
        call_command("read_labels", tmp_path / "missing.jsonl", tmp_path / "out.jsonl", verbosity=0)
