"""A lease that is renewed while somebody works: when the work stops for whatever reason, so do the renewals."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread
from time import monotonic

from django.db import DatabaseError, connections

logger = logging.getLogger(__name__)


@contextmanager
def renewed(renew: Callable[[], bool], *, every: float, at_most: float) -> Iterator[None]:
    """Call `renew` every so many seconds while the block lasts, until it says no, and `at_most` so many seconds.

    From a thread with a database connection of its own: the work holds a transaction open, in which nobody else would
    see it, and Python's threads take turns also while numbers are crunched. The limit is for work that hangs: its
    thread of renewals is as alive as ever.
    """
    done = Event()
    thread = Thread(target=_renew, args=(renew, every, monotonic() + at_most, done), name="lease", daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _renew(renew: Callable[[], bool], every: float, until: float, done: Event) -> None:
    try:
        while not done.wait(every) and monotonic() < until:
            try:
                if not renew():
                    return
            except DatabaseError:
                logger.warning("A lease could not be renewed; it is tried again in %s seconds.", every, exc_info=True)
                connections.close_all()
    finally:
        connections.close_all()
