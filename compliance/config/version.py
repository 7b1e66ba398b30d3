"""Which version of the service this is."""

from __future__ import annotations

import tomllib
from functools import cache

from django.conf import settings


@cache
def version() -> str:
    """Return the version as pyproject.toml has it, which stands beside the code wherever that runs."""
    text = (settings.BASE_DIR / "pyproject.toml").read_text(encoding="utf-8")
    return str(tomllib.loads(text)["project"]["version"])
