"""Files kept encrypted: photos, statements, whatever is stored about people and products."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.core.exceptions import ImproperlyConfigured
from django.core.files.base import ContentFile, File
from django.core.files.storage import FileSystemStorage
from django.db import transaction
from django.db.models.fields.files import FieldFile
from django.utils.deconstruct import deconstructible

_CANARY = ".key-check"
_MARK = b"readable"


class KeyLost(Exception):
    """A file that none of the keys opens."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"“{name}” was encrypted with a key that is not among FILE_KEYS, so it cannot be opened. It is kept as it "
            "is: put the key that was used then back into FILE_KEYS, after the newest one."
        )


@contextmanager
def with_its_row(file: FieldFile) -> Iterator[None]:
    """A transaction that stores the file and the row that names it, or neither."""
    try:
        with transaction.atomic():
            yield
    except BaseException:
        file.delete(save=False)  # else a file would lie there that no row names; nothing happens where none was stored
        raise


@deconstructible
class SealedStorage(FileSystemStorage):
    """A folder of files encrypted with Fernet (AES-128-CBC and HMAC-SHA-256). The first key encrypts, any key opens.

    A file is read into memory whole, so it is for files of some megabytes. Raises KeyLost where no key fits.
    """

    def __init__(self, *, keys: list[str], **options: Any) -> None:
        super().__init__(**options)
        self._keys = _fernet(keys)

    def is_readable(self) -> bool:
        """Tell whether these are the keys with which the folder was begun. A new folder is begun with these."""
        self._begin()
        if not super().exists(_CANARY):
            return False  # files are there, and the mark that came before them is gone
        try:
            with self.open(_CANARY) as kept:
                return bytes(kept.read()) == _MARK
        except KeyLost:
            return False

    def _begin(self) -> None:
        if not super().exists(_CANARY) and not any(self._names()):
            super()._save(_CANARY, ContentFile(self._keys.encrypt(_MARK)))  # type: ignore[misc]  # not in the stubs

    def rotate(self) -> int:
        """Encrypt every file anew with the first key, and return how many. One cut off half-way can be run again.

        Raises KeyLost for the first file that no key opens; those before it are rotated by then, the others as before.
        """
        return sum(self._rotated(name) for name in [*self._names(), *([_CANARY] if super().exists(_CANARY) else [])])

    def _rotated(self, name: str) -> int:
        path = Path(self.path(name))
        try:
            token = self._keys.rotate(path.read_bytes())
        except InvalidToken:
            raise KeyLost(name) from None
        beside = path.with_name(f"{path.name}.rotating")
        beside.write_bytes(token)
        beside.chmod(path.stat().st_mode & 0o777)
        beside.replace(path)  # at once or not at all
        return 1

    def _names(self) -> Iterator[str]:
        root = Path(self.location)
        for path in sorted(root.rglob("*")):
            if path.is_file() and path.name != _CANARY:
                yield str(path.relative_to(root))

    def _open(self, name: str, mode: str = "rb") -> File[bytes]:
        token = Path(self.path(name)).read_bytes()
        try:
            return ContentFile(self._keys.decrypt(token), name=name)
        except InvalidToken:
            raise KeyLost(name) from None

    def _save(self, name: str, content: File[bytes]) -> str:
        self._begin()
        content.seek(0)
        token = ContentFile(self._keys.encrypt(content.read()), name=name)
        return str(super()._save(name, token))  # type: ignore[misc]  # not in the stubs

    def size(self, name: str) -> int:
        """Size of the file as it was before it was encrypted, in bytes."""
        with self.open(name) as kept:
            return len(kept.read())


def _fernet(keys: list[str]) -> MultiFernet:
    try:
        return MultiFernet([Fernet(key) for key in keys])
    except ValueError as error:
        raise ImproperlyConfigured(
            f"FILE_KEYS holds something that is no key ({error}). A key is 32 bytes in URL-safe base64, as "
            "`python3 manage.py make_file_key` prints; write the newest first, with commas between."
        ) from error
