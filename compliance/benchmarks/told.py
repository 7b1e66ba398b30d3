"""What a benchmark tells beside its figures: on what it ran."""

from __future__ import annotations

import os
import platform
from typing import Any

from django.db import connection


def machine() -> dict[str, Any]:
    """Return the Python, the cores and the database that this process sees."""
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version" if connection.vendor == "postgresql" else "SELECT sqlite_version()")
        (version,) = cursor.fetchone()
    return {
        "python": platform.python_version(),
        "cores": os.cpu_count(),
        "database": f"{connection.vendor} {version}",
    }
