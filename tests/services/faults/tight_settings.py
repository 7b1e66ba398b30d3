"""The settings of a service whose SQLite file may not grow beyond so many pages: a disk that is full."""

from __future__ import annotations

import os

from compliance.config.settings import *  # noqa: F403
from compliance.config.settings import DATABASES

DATABASES["default"]["OPTIONS"]["init_command"] += f" PRAGMA max_page_count={int(os.environ['MOST_PAGES'])};"
