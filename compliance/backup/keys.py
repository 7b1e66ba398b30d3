"""Which keys belong to a backup, told by fingerprints: the keys themselves are never in it."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass

from django.conf import settings

from roster.record.chain import written

WORK, BLOCK, LANES = 2**14, 8, 1
"""Cost of scrypt (RFC 7914): 16 MiB a key. A key that somebody chose themselves must not be guessed from here."""


@dataclass(frozen=True, slots=True)
class Fingerprints:
    """Of the key that seals the record, and of those that open the files: scrypt under a salt of this backup's own."""

    salt: str  # hexadecimal
    record: str
    files: tuple[str, ...]

    @classmethod
    def taken(cls, salt: str = "") -> Fingerprints:
        """Return those of the keys set here, under that salt or a new one."""
        salt = salt or secrets.token_hex(16)
        record, *files = (_fingerprint(key, salt) for key in (settings.RECORD_KEY, *settings.FILE_KEYS))
        return cls(salt, record, tuple(files))


def sealed(said: Mapping[str, object]) -> str:
    """Return the HMAC-SHA-256 of what a backup says of itself, under the key of the record, in hexadecimal."""
    key = b"backup:" + str(settings.RECORD_KEY).encode()
    return hmac.new(key, written(said).encode(), hashlib.sha256).hexdigest()


def _fingerprint(key: str, salt: str) -> str:
    return hashlib.scrypt(
        str(key).encode(), salt=bytes.fromhex(salt), n=WORK, r=BLOCK, p=LANES, dklen=16, maxmem=2**26
    ).hex()
