"""A JSON file in, and JSON out, for commands that answer one document."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

STANDARD = Path("-")
"""Stands for standard input."""


def read_json(path: Path, name: str, **how: Any) -> Any:
    """Return what the file holds; `name` is what its messages call it, `how` goes to `json.loads`.

    Raises CommandError for what cannot be opened, is not UTF-8 or is not JSON.
    """
    try:
        text = (sys.stdin.buffer.read() if path == STANDARD else path.read_bytes()).decode("utf-8-sig")
        return json.loads(text, **how)
    except OSError as error:
        raise CommandError(f"{name} could not be opened ({error.strerror}); check the path and the rights.") from error
    except UnicodeDecodeError as error:
        raise CommandError(f"{name} is not UTF-8 text, so nothing was read; save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        raise CommandError(f"{name} is not JSON ({error}), so nothing was read; mend it and run this again.") from error


def as_json(answer: Any) -> str:
    """Return the answer as JSON that can be printed."""
    return printable(json.dumps(answer, ensure_ascii=False, indent=2))


def printable(text: str) -> str:
    """Return the text with half characters, which JSON can hold and no output can, written as their escapes."""
    return text.encode("utf-8", "backslashreplace").decode()
