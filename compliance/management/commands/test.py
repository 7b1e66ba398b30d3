"""`manage.py test`: the whole test suite. Everything after `test` goes to pytest as it is."""

from __future__ import annotations

import os
import subprocess
import sys

from django.conf import settings
from django.core.management import BaseCommand


class Command(BaseCommand):
    help = "Run pytest over tests/. Arguments are pytest's own: `manage.py test tests/menus -k nested`."

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand over to pytest in a process of its own, so that coverage sees our modules being loaded."""
        command = [sys.executable, "-m", "pytest", *argv[2:]]
        os.chdir(settings.BASE_DIR)
        if os.name == "nt":
            sys.exit(subprocess.run(command, check=False).returncode)
        os.execv(command[0], command)
