"""Seconds and queries, of whole stretches and of single functions of the service."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from statistics import quantiles
from time import perf_counter
from types import ModuleType
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
    def around(self, functions: dict[str, tuple[ModuleType, str]]) -> Iterator[dict[str, Any]]:
        """Time these functions by name wherever their module calls them, and hand over what each returned last.

        Raises AttributeError when a module has no such function any more: the benchmark would measure nothing.
        """
        returned: dict[str, Any] = {}
        with ExitStack() as stack:
            for name, (module, function) in functions.items():
                stack.enter_context(self._around(name, module, function, returned))
            yield returned

    @contextmanager
    def _around(self, name: str, module: ModuleType, function: str, returned: dict[str, Any]) -> Iterator[None]:
        plain = getattr(module, function)

        def timed(*args: Any, **kwargs: Any) -> Any:
            with self.time(name):
                returned[name] = plain(*args, **kwargs)
            return returned[name]

        setattr(module, function, timed)
        try:
            yield
        finally:
            setattr(module, function, plain)

    def p95_ms(self, name: str) -> float | None:
        """Return how many milliseconds the 95th of a hundred took; None below twenty."""
        spent = self.each[name]
        return round(quantiles(spent, n=20)[-1] * 1000, 2) if len(spent) >= 20 else None

    def told(self) -> dict[str, float]:
        """Return the seconds by name, rounded to a tenth of a millisecond."""
        return {name: round(spent, 4) for name, spent in self.seconds.items()}
