"""Log lines without personal data: what went wrong and where, never with whose name, word or number in it."""

from __future__ import annotations

import logging
import traceback
from types import TracebackType
from typing import Any

NOWHERE = "an address that is not there"


class PrivateFormatter(logging.Formatter):
    """Tells a failure by its kind and the lines of code it went through.

    The message of an exception is left out wherever it stands: a database repeats the row that it refused, a form the
    value, and either may be a child's. Of an address its pattern is told, since people paste what they have into it.
    """

    def formatException(self, ei: Any) -> str:
        return without_words(ei[1])

    def formatMessage(self, record: logging.LogRecord) -> str:
        record.message = without_personal(record, record.message)
        return super().formatMessage(record)


def without_personal(record: logging.LogRecord, message: str) -> str:
    """Return the message of a line without the address asked for and without what an exception says."""
    request = getattr(record, "request", None)
    path = getattr(request, "path", "")
    if path:
        match = getattr(request, "resolver_match", None)
        message = message.replace(path, f"/{match.route}" if match else NOWHERE)
    error = record.exc_info[1] if record.exc_info else None
    while error is not None:
        for text in (repr(error), str(error)):
            if text.strip():
                message = message.replace(text, type(error).__name__)
        error = error.__cause__ or error.__context__
    return message


def without_words(error: BaseException | None) -> str:
    """Return how something failed: the kinds of failure and the code they went through, the newest first."""
    lines: list[str] = []
    while error is not None:
        lines.append(f"{type(error).__module__}.{type(error).__qualname__}")
        lines += _frames(error.__traceback__)
        error = error.__cause__ or error.__context__
        if error is not None:
            lines.append("caused by")
    return "\n".join(lines)


def _frames(trace: TracebackType | None) -> list[str]:
    return [f"  {frame.filename}:{frame.lineno} in {frame.name}" for frame in traceback.extract_tb(trace)]
