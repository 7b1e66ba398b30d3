"""Names as people type them."""

from __future__ import annotations


def comparable(name: str) -> str:
    """Return the name as it is compared: capitals and blanks make no difference."""
    return " ".join(name.casefold().split())
