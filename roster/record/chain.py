"""How an entry of the record is sealed to the one before it. Pure."""

from __future__ import annotations

import hmac
import json
from collections.abc import Mapping
from hashlib import sha256

START = "0" * 64
"""The seal before the first entry."""


def written(entry: Mapping[str, object]) -> str:
    """The entry in the one form whose digest is taken: JSON with sorted keys and no spaces.

    Raises TypeError for a value that JSON cannot hold.
    """
    return json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest_of(payload: str) -> str:
    """SHA-256 of the written entry, in hexadecimal."""
    return sha256(payload.encode()).hexdigest()


def seal(key: bytes, place: Mapping[str, object], digest: str, before: str) -> str:
    """HMAC-SHA-256 (RFC 2104, FIPS 180-4) over the entry's place, its digest and the seal before it, in hexadecimal.

    Keyed, so that whoever can write to the database but does not hold the key cannot seal an entry of their own.
    """
    return _signed(key, {**place, "digest": digest, "before": before})


def proof_of_end(key: bytes, chain: int, number: int, last: str) -> str:
    """What proves that the chain ends with that entry, in hexadecimal."""
    return _signed(key, {"chain": chain, "ends": number, "last": last})


def _signed(key: bytes, said: Mapping[str, object]) -> str:
    return hmac.new(key, written(said).encode(), sha256).hexdigest()
