"""A server has loaded what pages need before it takes the first request."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.config.test_process import ROOT, environment

LOOK = """
import gc, json, sys
from importlib import import_module
import_module("compliance.config." + sys.argv[1])
from menus.labels.lexicon import _load
pages = [name for name in sys.modules if name.startswith("compliance.web.")]
print(json.dumps([len(pages), _load.cache_info().currsize, gc.get_freeze_count()]))
"""


@pytest.mark.parametrize("door", ["wsgi", "asgi"])
def test_pages_and_lexicon_are_there_and_the_collector_passes_over_them(tmp_path: Path, door: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOOK, door],
        cwd=ROOT,
        env=environment(tmp_path),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    pages, lexicons, kept = json.loads(done.stdout.splitlines()[-1])
    assert pages > 50
    assert lexicons == 1
    assert kept > 100_000
