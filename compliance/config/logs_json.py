"""Log lines as JSON, one object a line, for a collector; what they tell is no more than the plain lines do."""

from __future__ import annotations

import logging
from datetime import UTC, datetime
from typing import Any

from pythonjsonlogger.json import JsonFormatter

from compliance.config.logs import without_personal, without_words


class PrivateJsonFormatter(JsonFormatter):
    """Writes time, level, logger, message, the ids of what the work was about, and how something failed.

    These and no others: whoever logs may hang anything on a line, the whole request of a page among it.
    """

    def add_fields(self, log_data: dict[str, Any], record: logging.LogRecord, message_dict: dict[str, Any]) -> None:
        log_data["time"] = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        log_data["level"] = record.levelname
        log_data["logger"] = record.name
        log_data["message"] = without_personal(record, record.message)
        log_data |= getattr(record, "about", {})
        if record.exc_info and record.exc_info[1]:
            log_data["failure"] = without_words(record.exc_info[1])

    def formatException(self, ei: Any) -> str:
        return ""  # told as `failure`, without what the exception says
