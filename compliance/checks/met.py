"""Servings and restrictions that do not go together, wherever the child is on that day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from compliance.checks.found import Found
from compliance.checks.reads import Reads
from compliance.checks.reasons import Reason
from compliance.checks.served import Served
from compliance.checks.unread import NOT_READ
from compliance.checks.why import Why
from compliance.rules.values import Outcome
from roster.models import Restriction


@dataclass(frozen=True, slots=True)
class Met:
    """One of them, and why."""

    served: Served
    restriction: Restriction
    outcome: Outcome
    why: Why


@dataclass(frozen=True, slots=True)
class Meetings:
    """Servings, the restrictions that their runs read, and what was found of each pair."""

    served: list[Served]
    reads: Reads
    found: Found

    def stopped(self, outcome: Outcome | None, rule: str) -> Iterator[Met]:
        """Yield what is to be withheld or referred; None and "" mean any outcome, and any rule among those that count.

        Reasons are worked out only where a rule is asked for: it may be another than the gravest.
        """
        for served in self.served:
            known = self.found.of(served)
            for read in self.reads.of(served):
                told = known.outcome(read.type_id) or Outcome.NONE_FOUND
                if told >= Outcome.REFER and outcome in (None, told):
                    why = self.found.explained.why(served, read.type)
                    if not rule or any(reason.rule == rule and not reason.allowed for reason in why()):
                        yield Met(served, read.restriction, Outcome(told), why)

    def made_milder(self, outcome: Outcome | None, rule: str) -> Iterator[Met]:
        """Yield where an allowance covers something graver than what is left; by rule, a finding of that rule."""
        for served in self.served:
            known = self.found.of(served)
            for read in self.reads.of(served):
                told = known.outcome(read.type_id)  # nothing to say: nothing that could be covered
                if read.type.allowed and told is not None and outcome in (None, told):
                    why = self.found.explained.why(served, read.type)
                    covered = {reason.rule for reason in why() if reason.allowed and reason.outcome > told}
                    if covered and rule in ("", *covered):
                        yield Met(served, read.restriction, Outcome(told), why)

    def unjudged(self) -> Iterator[Met]:
        """Yield what a run has read and the dish was not judged for: until it is, nothing is known of it."""
        for served in self.served:
            if types := self.found.of(served).unread:
                for read in self.reads.of(served):
                    if read.type_id in types:
                        yield not_read(served, read.restriction)


def not_read(served: Served, restriction: Restriction) -> Met:
    """Return what stands for a restriction for which the dish has not been judged: `refer`."""
    return Met(served, restriction, Outcome.REFER, _not_checked)


def _not_checked() -> tuple[Reason, ...]:
    return (NOT_READ,)
