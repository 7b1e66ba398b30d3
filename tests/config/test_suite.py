"""What the suite does on a machine without Chromium."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def collect(**more: str) -> str:
    """Collect the browser tests on a machine without Chromium, and return what pytest said."""
    environment = {name: value for name, value in os.environ.items() if name != "CI"} | {"PATH": "", **more}
    done = subprocess.run(
        [sys.executable, "manage.py", "test", "tests/browser", "--collect-only", "-q"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return done.stdout


def test_browser_tests_are_left_out_with_one_line_that_says_what_to_install() -> None:
    """The rest of the suite is still worth running."""
    said = collect()
    assert "test_treat.py::" not in said
    line = next(line for line in said.splitlines() if "browser tests left out" in line)
    assert line.endswith("Install the package chromium (Debian, Ubuntu: apt-get install chromium).")


def test_under_ci_nothing_is_left_out() -> None:
    """There they fail, rather than go missing."""
    said = collect(CI="1")
    assert "test_treat.py::" in said
    assert "left out" not in said
