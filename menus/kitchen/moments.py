"""A day's events as moments: what happens at one minute, in an order that nobody wrote down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, TypeVar

from menus.kitchen.events import Event, Stay

Kind = TypeVar("Kind", bound=Event)


@dataclass(slots=True)
class Moment:
    """Everything that happens at one time, and the stays that end with it."""

    at: datetime
    ending: list[Stay] = field(default_factory=list)
    _events: dict[type[Any], list[Any]] = field(default_factory=dict)

    def add(self, event: Event) -> None:
        """Add what happens at this time."""
        self._events.setdefault(type(event), []).append(event)

    def of(self, kind: type[Kind]) -> Iterable[Kind]:
        """Its events of one kind."""
        events: Iterable[Kind] = self._events.get(kind, ())
        return events


def moments(events: Iterable[Event]) -> list[Moment]:
    """Return the moments in the order of time.

    Only the clock counts, not the order of the list. Times that carry a zone are compared in UTC, so that the hour that
    comes twice in autumn keeps its order. Raises TypeError when some times carry a zone and others do not.
    """
    found: dict[datetime, Moment] = {}
    for event in events:
        _at(found, event.at).add(event)
        if isinstance(event, Stay):
            _at(found, event.until).ending.append(event)
    return [found[at] for at in sorted(found)]


def _at(found: dict[datetime, Moment], at: datetime) -> Moment:
    key = at if at.tzinfo in (None, UTC) else at.astimezone(UTC)
    if key not in found:
        found[key] = Moment(at)
    return found[key]
