"""What can be set wrong without stopping Django: each said at start, with how to mend it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning
from django.core.exceptions import ImproperlyConfigured
from django.core.files.storage import default_storage

from compliance.checks.retention import LEAST_DAYS
from menus.sealed import SealedStorage

NIGHT = (
    "NIGHT_TICK_SECONDS",
    "NIGHT_SLICE_SITES",
    "NIGHT_SLICES_AT_ONCE",
    "NIGHT_SLICE_SECONDS",
    "NIGHT_LEASE_SECONDS",
)

SHORTEST_TOKEN = 16


def check_settings(**_: Any) -> list[CheckMessage]:
    """Return what is wrong or doubtful in the settings of the service."""
    return list(_wrong())


def check_files(**_: Any) -> list[CheckMessage]:
    """Return what is wrong with the keys of the kept files: better known at start than when a statement is wanted."""
    try:
        if not isinstance(default_storage, SealedStorage) or default_storage.is_readable():
            return []
        wrong = "FILE_KEYS holds none of the keys with which the kept files were encrypted, so none can be opened."
        hint = "Put the key that was used back into FILE_KEYS, or restore the file file-key in DATA_DIR from a backup."
    except ImproperlyConfigured as error:
        wrong, hint = str(error), "Make a key with `python3 manage.py make_file_key`."
    except OSError as error:
        wrong = f"The folder of kept files cannot be read and written: {error.strerror}."
        hint = f"Give the service rights to {default_storage.path('')}, or set FILE_DIR to another folder."
    return [Error(wrong, hint=hint, id="compliance.E004")]


def _wrong() -> Iterator[CheckMessage]:
    if not 0 <= settings.NIGHTLY_HOUR <= 23:
        yield Error(
            f"NIGHTLY_HOUR is {settings.NIGHTLY_HOUR}, which is no hour of the day.",
            hint="Set it to a number from 0 to 23.",
            id="compliance.E001",
        )
    for name in (*NIGHT, "NIGHTLY_WINDOW_DAYS", "LABEL_MAX_AGE_DAYS", "IMPORT_MAX_BYTES", "IMPORT_MAX_ROWS"):
        if getattr(settings, name) < 1:
            yield Error(
                f"{name} is {getattr(settings, name)}, so there would be nothing left to do.",
                hint="Set it to 1 or more.",
                id="compliance.E002",
            )
    if 0 < len(settings.METRICS_TOKEN) < SHORTEST_TOKEN:
        yield Error(
            f"METRICS_TOKEN has {len(settings.METRICS_TOKEN)} characters, so it could be guessed.",
            hint=f"Set it to {SHORTEST_TOKEN} random characters or more, or leave it out: then there is no /metrics.",
            id="compliance.E006",
        )
    if settings.RECORD_KEEP_DAYS and settings.RECORD_KEEP_DAYS < LEAST_DAYS:
        yield Error(
            f"RECORD_KEEP_DAYS is {settings.RECORD_KEEP_DAYS}, and the record of actions is kept {LEAST_DAYS} days at "
            "least: so long may a claim for meals be looked into.",
            hint=f"Set it to {LEAST_DAYS} or more, or leave it out to keep the record for ever.",
            id="compliance.E005",
        )
    if not settings.SITE_ADDRESS.startswith(("http://", "https://")):
        yield Error(
            f"SITE_ADDRESS is {settings.SITE_ADDRESS!r}, so the links in mails would lead nowhere.",
            hint="Give the address as browsers need it, such as https://menus.school.example.",
            id="compliance.E003",
        )
    if settings.EMAIL_BACKEND.endswith("smtp.EmailBackend") and "//127.0.0.1" in settings.SITE_ADDRESS:
        yield Warning(
            "Mails are sent, but SITE_ADDRESS is this machine's own, so their links work for nobody else.",
            hint="Set SITE_ADDRESS to the address that people type.",
            id="compliance.W001",
        )
