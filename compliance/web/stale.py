"""Two people at once: what somebody was about to save, beside what was saved since they opened the page.

A form carries the version it was opened on; the service refuses it when a newer one stands. The page then shows both,
with all that was typed, and takes it again once the person has compared them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest

from compliance.web.numbers import row_number

Parts = tuple[tuple[str, str], ...]
"""What one version says: name of each part, and its words."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two versions: whose it is, and what it says."""

    heading: str
    parts: Parts


@dataclass(frozen=True, slots=True)
class Stale:
    """What partials/two_versions.html shows: why nothing was saved and what to do, theirs first, then one's own."""

    told: str
    saved: Side
    yours: Side


def side(heading: str, parts: Iterable[tuple[str, str]]) -> Side:
    """Return a side of the parts that hold something."""
    return Side(heading, tuple((name, words) for name, words in parts if words.strip()))


def opened_on(request: HttpRequest, name: str = "opened") -> int | None:
    """Return the version that the sent form was opened on, 0 where there was none yet.

    None when it does not say, as where the page asks for none.
    """
    sent = request.POST.get(name, "")
    return 0 if sent == "0" else row_number(sent) or None
