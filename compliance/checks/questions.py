"""What a check cannot decide and licensed staff can: one question a restriction and subject, whatever the dish."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.checks.reasons import Reason
from compliance.models import Referral
from compliance.rules.values import Outcome
from menus.labels.evidence import BY_WORD, STANDING, Kind, Step
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.models import Restriction, User

Key = tuple[int, str]
"""The restriction, by its first version, and the subject: what one question is about."""

Raised = tuple[Reason, str]
"""A reason to ask, and the name of the food that it speaks of: the product, or else the dish."""


@dataclass(frozen=True, slots=True)
class Question:
    """One reason to ask about one child and one food."""

    restriction: Restriction
    site: Site
    reason: Reason
    food: str
    needed_by: date
    needed_at: datetime | None = None  # the moment, where it is known

    @property
    def key(self) -> Key:
        """What tells this question from others."""
        return (self.restriction.chain, self.subject)

    @property
    def about(self) -> str:
        """The substance that the evidence names, which may be a member of the restriction's."""
        return self.reason.substance

    @property
    def subject(self) -> str:
        """What the question is about: while it is open, or its answer holds, the same is not asked again."""
        return subject_of(self.reason, self.restriction.substance, self.food)


def subject_of(reason: Reason, avoided: str, food: str) -> str:
    """Return what has to be settled for the reason to fall away; the same text for whatever one answer settles.

    `avoided` is the substance of the child's restriction.
    """
    return subject(reason.kind, reason.substance, reason.term, innermost(reason.chain), avoided, food)


def subject(kind: str, substance: str, term: str, thing: str, avoided: str, food: str) -> str:
    """Return the same of a piece of evidence; `thing` is the innermost thing on its way, if there is one."""
    if kind in BY_WORD:
        # Once for gluten, not once each for barley and wheat: who knows the child's restriction answers for it whole.
        return f"{kind}:{avoided}:{term}"
    if kind in STANDING:
        return f"{kind}:{substance}"
    return f"{kind}:{thing}" if thing else f"{kind}:{food}"[:200]


def innermost(way: Sequence[Step]) -> str:
    """Return the label at the end of the way; else the product, or the recipe; else nothing."""
    for kind in ("label", "product", "recipe"):
        if ref := next((link.ref for link in reversed(way) if link.kind == kind), ""):
            return f"{kind}:{ref}"
    return ""


def is_open(reason: Reason) -> bool:
    """Tell whether the reason is one to ask about: `refer`, and no allowance covers it."""
    return reason.outcome is Outcome.REFER and not reason.allowed


def referral_of(same: Sequence[Question], asked_by: User | None) -> Referral:
    """Return one referral, not yet stored, for questions with one key. It names all that an answer will cover."""
    first = earliest(same)
    said = worded([(each.reason, each.food) for each in same], (first.reason, first.food), first.restriction.substance)
    return Referral(
        **said,
        child_id=first.restriction.child_id,
        site=first.site,
        restriction=first.restriction,
        needed_by=first.needed_by,
        needed_at=first.needed_at,
        asked_by=asked_by,
    )


def worded(same: Iterable[Raised], first: Raised, avoided: str) -> dict[str, Any]:
    """Return the columns of a referral that tell what is asked, the same for every child who avoids the substance.

    `same`: all that raises the question, each reason with its food; `first`: what is needed first.
    """
    reason, food = first
    reasons = [each for each, _ in same]
    by_word = reason.kind in BY_WORD
    return {
        "substance": avoided,
        "kind": reason.kind,
        "about": sorted({each.substance for each in reasons}),
        "term": reason.term if by_word else "",
        "subject": subject_of(reason, avoided, food),
        "food": (f"“{reason.term}” and {_name(avoided)}, on any label" if by_word else food)[:160],
        "question": _sentence(reason, reasons, avoided),
        "label_id": int(reason.label_id) if reason.label_id else None,
        "words": "; ".join(dict.fromkeys(each.words for each in reasons if each.words)),
    }


def earliest(same: Iterable[Question]) -> Question:
    """Return the one that is needed first; on one day those with a moment come after those of the whole day."""
    return min(same, key=lambda each: (each.needed_by, each.needed_at is not None, each.needed_at))


def _sentence(first: Reason, reasons: Iterable[Reason], code: str) -> str:
    avoided = _name(code)
    if first.kind in BY_WORD:
        hidden = " and ".join(sorted({_name(each.substance) for each in reasons}))
        return (
            f"“{first.term}” may hold {hidden} or be made from it, and no law makes the label say so. May a "
            f"child who must avoid {avoided} have foods whose labels say “{first.term}”?"
        )
    told = " ".join(dict.fromkeys(each.sentence for each in reasons))
    if first.kind == Kind.SAME_MEAL:
        return f"{told} May this one be served at such a meal? None of what is named beside it may be served then."
    return f"{told} May a child who must avoid {avoided} have it?"


def _name(code: str) -> str:
    return Catalogue.load().get(code).name
