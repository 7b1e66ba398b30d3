"""python3 manage.py make_file_key"""

from __future__ import annotations

from typing import Any

from cryptography.fernet import Fernet
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Print a new key for FILE_KEYS. Keep a copy where the backups are not."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(Fernet.generate_key().decode())
