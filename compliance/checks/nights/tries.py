"""How often a thing is tried, and how long it rests between."""

from __future__ import annotations

from datetime import timedelta
from random import SystemRandom

from kombu.exceptions import OperationalError as BrokerAway

from compliance.checks.slices import TRANSIENT as DATABASE_AWAY

MOST_ATTEMPTS = 6
"""After so many a slice is given up and waits for a person. Common practice, no source."""

FIRST_PAUSE = timedelta(seconds=2)
"""Of a slice: two that stood in each other's way need no more. The last of its pauses is several minutes long."""

LONGEST_PAUSE = timedelta(minutes=10)
"""Far shorter than the visibility timeout of the queue, which holds what rests there as not acknowledged."""

TRANSIENT = (*DATABASE_AWAY, BrokerAway, ConnectionError)
"""What may go through the next time though nothing was mended: database or broker was away, held or full."""

_dice = SystemRandom()


def pause(attempts: int, first: timedelta, times: int = 2) -> timedelta:
    """Return how long to rest after so many attempts: so many times as long each time, half or whole or between.

    By chance, so that what failed together does not come back together. `first` is the longest first pause.
    """
    longest: timedelta = first * times ** min(max(attempts - 1, 0), 16)
    return min(LONGEST_PAUSE, longest) * _dice.uniform(0.5, 1)
