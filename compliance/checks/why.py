"""The reasons of many verdicts, worked out for those that somebody looks at."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from compliance.checks.explain import reasons_of
from compliance.checks.reasons import Reason
from compliance.checks.served import Served
from compliance.models import PreparedDish, RestrictionTypeRow

Why = Callable[[], tuple[Reason, ...]]
"""Gives the reasons of one verdict, the gravest first, those allowed last."""


class Explained:
    """The reasons of what is served. Evidence is read when it is first needed, that of all the dishes. One query."""

    def __init__(self, served: Iterable[Served]) -> None:
        self._wanted = {each.dish for each in served}
        self._dishes: dict[int, PreparedDish] = {}
        self._reasons: dict[tuple[int, int], tuple[Reason, ...]] = {}

    def why(self, served: Served, kind: RestrictionTypeRow) -> Why:
        """Return what gives the reasons of the dish for that type."""
        return partial(self.reasons, served.dish, kind)

    def reasons(self, dish: int, kind: RestrictionTypeRow) -> tuple[Reason, ...]:
        """Return the reasons of the dish for that type, the gravest first, those allowed last."""
        at = (dish, kind.pk)
        if at not in self._reasons:
            self._reasons[at] = reasons_of(self._read()[dish], kind)
        return self._reasons[at]

    def _read(self) -> dict[int, PreparedDish]:
        if not self._dishes:
            self._dishes = PreparedDish.objects.only("evidence").in_bulk(self._wanted)
        return self._dishes
