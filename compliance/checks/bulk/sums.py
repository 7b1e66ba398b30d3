"""The fingerprint of a site's result in parts, so that where one dish changes the rest need not be read again.

Lines are added up by their SHA-256 (modulo 2**256), so that order plays no part and a line can be taken out again. It
tells one result from another; against somebody who forges results stands the sealed record.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.checks.bulk.codes import ATOM_BITS, Codes

MODULUS = 1 << 256


@dataclass(frozen=True, slots=True)
class Sums:
    """What is served, what was judged, for whom."""

    served: int  # of all servings with the keys of their dishes
    said: int  # of all different dishes with what they are for the site's restriction types
    children: str  # of all restrictions with their types and days

    @property
    def hash(self) -> str:
        """The fingerprint of the whole."""
        return hashlib.sha256(f"{self.served:064x}{self.said:064x}{self.children}".encode()).hexdigest()

    @property
    def plain(self) -> list[str]:
        """As it is stored with a run."""
        return [f"{self.served:064x}", f"{self.said:064x}", self.children]

    @classmethod
    def of(cls, plain: list[str]) -> Sums:
        """Return what was stored."""
        served, said, children = plain
        return cls(int(served, 16), int(said, 16), children)

    def with_dishes(self, served: int, said: int) -> Sums:
        """Return these with something added to what is served and to what was judged, or taken away."""
        return Sums((self.served + served) % MODULUS, (self.said + said) % MODULUS, self.children)


def serving_line(serving: int, dish: str) -> int:
    """Return what a serving of the dish with that key adds."""
    return _number(f"{serving} {dish}".encode())


def dish_line(dish: str, codes: Codes) -> int:
    """Return what a dish adds that is this for the site's restriction types, which stand in the order of their keys."""
    return _number(dish.encode() + (codes >> ATOM_BITS).astype("<u4").tobytes())


def added(lines: Iterable[int]) -> int:
    """Return what the lines come to."""
    return sum(lines) % MODULUS


def digest_of(lines: Iterable[str]) -> str:
    """Return the fingerprint of lines in whatever order."""
    return hashlib.sha256("\n".join(sorted(lines)).encode()).hexdigest()


def _number(line: bytes) -> int:
    return int.from_bytes(hashlib.sha256(line).digest(), "big")
