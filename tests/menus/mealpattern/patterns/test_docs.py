"""The page docs/reference/check_week.md agrees with the code."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from django.conf import settings

from menus.mealpattern.patterns import foodfile, weekfile
from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.tables import patterns

PAGE = (Path(settings.BASE_DIR) / "docs" / "reference" / "check_week.md").read_text(encoding="utf-8")
EXAMPLE, SHOWN = (json.loads(block) for block in re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL))


def test_the_example_answers_as_shown() -> None:
    """What the page leaves out is left out here too."""
    answer = check_week(EXAMPLE)
    assert {key: answer[key] for key in SHOWN} == SHOWN


def test_every_key_is_explained() -> None:
    """Keys that go in, and keys that come out."""
    names = {*foodfile.KEYS, *foodfile.FREE, *weekfile.KEYS, *weekfile.FREE, *check_week(EXAMPLE)}
    assert [name for name in sorted(names) if f"`{name}`" not in PAGE and f'"{name}"' not in PAGE] == []


@pytest.mark.parametrize("pattern", patterns().values(), ids=lambda pattern: f"{pattern.program} {pattern.group}")
def test_every_pattern_is_named_with_its_date(pattern: object) -> None:
    """In the table of what is covered."""
    known = next(each for each in patterns().values() if each is pattern)
    row = next(line for line in PAGE.splitlines() if line.startswith("|") and f"`{known.program}`" in line)
    assert known.group in row and known.held_from.isoformat() in row
