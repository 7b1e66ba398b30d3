"""What can go wrong with a backup, in words."""

from __future__ import annotations


class BackupFailed(Exception):
    """No backup was made, or this one is not to be trusted. The message says why and what to do."""


class RestoreRefused(Exception):
    """Nothing was changed. The message says why and what to do."""


class RestoreFailed(Exception):
    """The database may hold a part of the backup by now. The message says what to do."""
