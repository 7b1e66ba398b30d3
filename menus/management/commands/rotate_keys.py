"""python3 manage.py rotate_keys"""

from __future__ import annotations

from typing import Any

from django.core.files.storage import default_storage
from django.core.management.base import BaseCommand, CommandError

from menus.sealed import KeyLost, SealedStorage
from menus.signals import keys_rotated


class Command(BaseCommand):
    help = "Encrypt all that is kept encrypted anew with the first of FILE_KEYS; then the older keys are not needed."

    def handle(self, *args: Any, **options: Any) -> None:
        if not isinstance(default_storage, SealedStorage):
            raise CommandError("STORAGES names another storage than ours, so there is nothing to encrypt anew.")
        try:
            rotated = default_storage.rotate()
            secrets = sum(int(done or 0) for _, done in keys_rotated.send(sender=type(self)))
        except KeyLost as error:
            raise CommandError(
                f"{error} Nothing else was lost; run the command again when the key is there."
            ) from error
        self.stdout.write(
            f"{rotated:,} files and {secrets:,} secrets of second factors are encrypted with the first key. "
            "Older keys may be taken out of FILE_KEYS."
        )
