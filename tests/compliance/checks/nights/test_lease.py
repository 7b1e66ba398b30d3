"""A lease is renewed while somebody works, and no longer."""

from __future__ import annotations

import time
from threading import Event, active_count

import pytest
from django.db import DatabaseError

from compliance.checks.nights.lease import renewed


def test_renewed_while_the_block_lasts() -> None:
    """And its thread is gone afterwards."""
    third = Event()
    times: list[int] = []

    def renew() -> bool:
        times.append(len(times))
        if len(times) == 3:
            third.set()
        return True

    before = active_count()
    with renewed(renew, every=0.01, at_most=60):
        assert third.wait(10)
    count = len(times)
    time.sleep(0.05)
    assert len(times) == count
    assert active_count() == before


def test_not_renewed_when_it_is_anothers() -> None:
    """The first no ends it."""
    asked: list[bool] = []
    with renewed(lambda: bool(asked.append(True)), every=0.01, at_most=60):
        time.sleep(0.1)
    assert asked == [True]


def test_not_renewed_for_what_hangs() -> None:
    """Its thread of renewals is as alive as ever."""
    asked: list[bool] = []
    with renewed(lambda: asked.append(True) is None, every=0.01, at_most=0):
        time.sleep(0.1)
    assert asked == []


def test_a_renewal_that_fails_is_tried_again(caplog: pytest.LogCaptureFixture) -> None:
    """The database may be back the next time."""
    second = Event()
    asked: list[int] = []

    def renew() -> bool:
        asked.append(1)
        if len(asked) == 1:
            raise DatabaseError("gone")
        second.set()
        return False

    with renewed(renew, every=0.01, at_most=60):
        assert second.wait(10)
    assert "could not be renewed" in caplog.text


def test_what_the_block_raises_goes_through() -> None:
    """And the thread ends."""
    before = active_count()
    with pytest.raises(KeyError), renewed(lambda: True, every=0.01, at_most=60):
        raise KeyError
    assert active_count() == before
