"""What checks have found for some dishes and restriction types: read as codes, for many at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.sparse import unpacked
from compliance.checks.edition import edition
from compliance.checks.served import Served
from compliance.checks.why import Explained
from compliance.models import Panel, RestrictionTypeRow
from compliance.rules.values import Outcome


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of one dish for the types asked about, by their ids."""

    outcomes: dict[int, int]  # of types with something to say, others than those asked about too: values of Outcome
    unread: frozenset[int]  # types for which the dish has not been judged: never “none found”

    def outcome(self, kind: int) -> int | None:
        """Return the outcome for a type; None where there is nothing to say, or it has not been judged."""
        return None if kind in self.unread else self.outcomes.get(kind)


class Found:
    """Outcomes of dishes for restriction types, by the panels of the runs that speak for them.

    What another edition of the rules judged is judged anew, by the rules that give the reasons shown.
    """

    def __init__(self, served: Collection[Served], types: dict[int, RestrictionTypeRow]) -> None:
        self.explained = Explained(served)
        self._types = types
        panels = {panel.pk: panel for each in served if (panel := each.run.panel)}
        self._named = {pk: types.keys() & set(panel.types) for pk, panel in panels.items()}
        self._told: dict[tuple[int, int | None], Told] = {}

    def of(self, served: Served) -> Told:
        """Return what is known of the dish of one serving."""
        at = (served.dish, served.run.panel_id)
        if at not in self._told:
            self._told[at] = self._read(served, served.run.panel)
        return self._told[at]

    def _read(self, served: Served, panel: Panel | None) -> Told:
        if panel is None or served.codes is None:
            return Told({}, frozenset(self._types))
        named = self._named[panel.pk]
        told = _decoded(served.codes) if panel.edition == edition() else self._judged_anew(served, named)
        return Told(told, frozenset(self._types.keys() - named))

    def _judged_anew(self, served: Served, types: Iterable[int]) -> dict[int, int]:
        told = {kind: self.explained.reasons(served.dish, self._types[kind]) for kind in types}
        return {
            kind: max((reason.outcome for reason in reasons if not reason.allowed), default=Outcome.NONE_FOUND)
            for kind, reasons in told.items()
            if reasons
        }


def _decoded(stored: bytes) -> dict[int, int]:
    types, codes = unpacked(bytes(stored))
    return dict(zip(types.tolist(), outcomes(codes).tolist(), strict=True))
