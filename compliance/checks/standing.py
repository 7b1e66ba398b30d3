"""Where a standing question bears on the plan: what licensed staff see before they answer it for every food."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.models import Referral
from compliance.rules.values import Outcome


@dataclass(frozen=True, slots=True)
class OnThePlan:
    """The foods that raise a question, and how many dishes of the coming days they are in."""

    foods: tuple[str, ...]  # products, or dishes where no product is known
    dishes: int


def on_the_plan(referral: Referral, first: date, last: date) -> OnThePlan:
    """Return where the child meets what the question is about at its site, both days included. Five queries."""
    asked = ExceptionFilter(first, last, site=referral.site, outcome=Outcome.REFER, substance=referral.substance)
    met = [
        (row, reason)
        for row in found_exceptions(asked)
        if row.child == referral.child and referral.subject in row.waits_for
        for reason in row.open_reasons
        if reason.kind == referral.kind and reason.substance in referral.about and referral.term in ("", reason.term)
    ]
    return OnThePlan(
        foods=tuple(sorted({row.food(reason) for row, reason in met})),
        dishes=len({row.serving.pk for row, _ in met}),
    )
