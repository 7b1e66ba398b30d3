"""The demo's medical statements: most in force, and some in every other state that a nurse meets."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from roster.models import Child, Credential, Program, Review, Statement, User

TERM = timedelta(days=365)
USUAL_DAYS_LEFT = 250
DAYS_LEFT = {1: -20, 2: 5, 3: 24, 4: 52}
UNREVIEWED, WANTING = 5, 6
"""Which of the children with a statement, counted from 1, has one that is not as usual."""

ASKED_FOR = "Foods to give instead. The family's clinic was asked."


def papers(child: Child, number: int, *, today: date, nurse: User) -> dict[str, Any]:
    """Write the statement of the `number`-th child who has one; return what the restrictions under it hold."""
    review_on = today + timedelta(days=DAYS_LEFT.get(number, USUAL_DAYS_LEFT - number % 90))
    statement = Statement(
        child=child,
        signatory="P. Example",
        credential=Credential.DIETITIAN if number % 4 == 0 else Credential.PRESCRIBER,
        credential_words="RDN" if number % 4 == 0 else "MD",
        licence_state="Illinois",
        signed_on=review_on - TERM,
        program=Program.NSLP,
        impairment="Eating the foods named below makes the child ill.",
        accommodate="Leave them out of every meal and snack, traces too.",
        omit="The foods under this statement, in every form.",
        instead="" if number == WANTING else "Other foods of the same worth.",
        review_on=review_on,
        received_by=nurse,
    )
    statement.full_clean(exclude=["scan"])
    statement.save()
    return {"statement": statement, "review": _review(statement, number, nurse), "review_on": review_on}


def _review(statement: Statement, number: int, nurse: User) -> Review | None:
    if number == UNREVIEWED:
        return None
    review = Review(
        statement=statement,
        wanting=ASKED_FOR if number == WANTING else "",
        reviewed_by=nurse,
        signature=f"{nurse}, RN",
    )
    review.full_clean()
    review.save()
    return review
