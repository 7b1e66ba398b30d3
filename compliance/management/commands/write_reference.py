"""Write the generated reference pages."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from compliance.reports.reference import pages


class Command(BaseCommand):
    help = "Write docs/reference pages that are generated from rules and data files."

    def handle(self, *args: Any, **options: Any) -> None:
        folder = settings.BASE_DIR / "docs" / "reference"
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in pages().items():
            (folder / name).write_text(text, encoding="utf-8")
            self.stdout.write(f"docs/reference/{name}")
