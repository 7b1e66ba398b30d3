"""Seconds and queries, of whole stretches and of single functions of the service."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from statistics import quantiles
from time import perf_counter
from typing import Any

from django.db import connection


class Stopwatch:
    """What took how long, by name, added up; wall-clock seconds, and how many queries were asked meanwhile."""

    def __init__(self) -> None:
        self.seconds: defaultdict[str, float] = defaultdict(float)
        self.queries: Counter[str] = Counter()
        self.each: defaultdict[str, list[float]] = defaultdict(list)

    @contextmanager
    def time(self, name: str) -> Iterator[None]:
        """Add what happens inside to that name."""

        def count(execute: Callable[..., Any], *asked: Any) -> Any:
            self.queries[name] += 1
            return execute(*asked)

        with connection.execute_wrapper(count):
            begun = perf_counter()
            try:
                yield
            finally:
                spent = perf_counter() - begun
                self.seconds[name] += spent
                self.each[name].append(spent)

    @contextmanager
    def around(self, functions: dict[str, tuple[Any, str]]) -> Iterator[dict[str, Any]]:
        """Time these functions of a module or class by name wherever they are called, and hand over their last results.

        Raises AttributeError when there is no such function any more: the benchmark would measure nothing.
        """
        returned: dict[str, Any] = {}
        with ExitStack() as stack:
            for name, (holder, function) in functions.items():
                stack.enter_context(self._around(name, holder, function, returned))
            yield returned

    @contextmanager
    def _around(self, name: str, holder: Any, function: str, returned: dict[str, Any]) -> Iterator[None]:
        plain = getattr(holder, function)

        def timed(*args: Any, **kwargs: Any) -> Any:
            with self.time(name):
                returned[name] = plain(*args, **kwargs)
            return returned[name]

        setattr(holder, function, timed)
        try:
            yield
        finally:
            setattr(holder, function, plain)

    def p95_ms(self, name: str) -> float | None:
        """Return how many milliseconds the 95th of a hundred took; None below twenty."""
        spent = self.each[name]
        return round(quantiles(spent, n=20)[-1] * 1000, 2) if len(spent) >= 20 else None

    def told(self) -> dict[str, float]:
        """Return the seconds by name, rounded to a tenth of a millisecond."""
        return {name: round(spent, 4) for name, spent in self.seconds.items()}
