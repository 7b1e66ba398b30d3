"""How long something goes on, reckoned and in words."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.operations.timeleft import in_words, time_left

MINUTE = timedelta(minutes=1)


@pytest.mark.parametrize(("done", "total", "left"), [(1, 4, 3 * MINUTE), (2, 3, MINUTE / 2), (4, 4, 0 * MINUTE)])
def test_the_rest_takes_as_long_as_what_is_done(done: int, total: int, left: timedelta) -> None:
    """At the pace of one minute so far."""
    assert time_left(MINUTE, done, total) == left


def test_without_a_pace_nothing_is_said() -> None:
    """Nothing is done, so nobody can know."""
    assert time_left(MINUTE, 0, 5) is None


@given(st.integers(1, 10_000), st.integers(0, 10_000), st.integers(0, 86_400))
def test_it_never_falls_below_nothing(done: int, more: int, seconds: int) -> None:
    """And more to do never takes less."""
    elapsed = timedelta(seconds=seconds)
    left, longer = time_left(elapsed, done, done + more), time_left(elapsed, done, done + more + 1)
    assert left is not None and longer is not None
    assert timedelta(0) <= left <= longer


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (-5, "0 seconds"),
        (1, "1 second"),
        (89, "89 seconds"),
        (90, "2 minutes"),
        (7199, "120 minutes"),
        (7200, "2 hours"),
        (31 * 3600, "31 hours"),
        (47 * 3600, "47 hours"),
        (4 * 86_400, "4 days"),
    ],
)
def test_in_words(seconds: int, words: str) -> None:
    """As people say it."""
    assert in_words(timedelta(seconds=seconds)) == words
