"""What a check cannot decide and licensed staff can: one question a restriction and subject, whatever the dish."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from compliance.checks.reasons import Reason
from compliance.models import Referral
from compliance.rules.values import Outcome
from menus.labels.evidence import BY_WORD, STANDING, Kind
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.models import Restriction, User

Key = tuple[int, str]
"""The restriction, by its first version, and the subject: what one question is about."""


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

    @property
    def is_by_word(self) -> bool:
        """Whether it is about a word, on whatever label."""
        return self.reason.kind in BY_WORD


def subject_of(reason: Reason, avoided: str, food: str) -> str:
    """Return what has to be settled for the reason to fall away; the same text for whatever one answer settles.

    `avoided` is the substance of the child's restriction.
    """
    if reason.kind in BY_WORD:
        # Once for gluten, not once each for barley and wheat: who knows the child's restriction answers for it whole.
        return f"{reason.kind}:{avoided}:{reason.term}"
    if reason.kind in STANDING:
        return f"{reason.kind}:{reason.substance}"
    for link in ("label", "product", "recipe"):
        if ref := reason.ref_of(link):
            return f"{reason.kind}:{link}:{ref}"
    return f"{reason.kind}:{food}"[:200]


def is_open(reason: Reason) -> bool:
    """Tell whether the reason is one to ask about: `refer`, and no allowance covers it."""
    return reason.outcome is Outcome.REFER and not reason.allowed


def referral_of(same: Sequence[Question], asked_by: User | None) -> Referral:
    """Return one referral, not yet stored, for questions with one key. It names all that an answer will cover."""
    first = earliest(same)
    reason, restriction = first.reason, first.restriction
    return Referral(
        child_id=restriction.child_id,
        site=first.site,
        restriction=restriction,
        substance=restriction.substance,
        kind=reason.kind,
        about=sorted({each.about for each in same}),
        term=reason.term if first.is_by_word else "",
        subject=first.subject,
        food=_title(first)[:160],
        question=_sentence(first, same),
        label_id=int(reason.label_id) if reason.label_id else None,
        words="; ".join(dict.fromkeys(each.reason.words for each in same if each.reason.words)),
        needed_by=first.needed_by,
        needed_at=first.needed_at,
        asked_by=asked_by,
    )


def earliest(same: Iterable[Question]) -> Question:
    """Return the one that is needed first; on one day those with a moment come after those of the whole day."""
    return min(same, key=lambda each: (each.needed_by, each.needed_at is not None, each.needed_at))


def _title(first: Question) -> str:
    if first.is_by_word:
        return f"“{first.reason.term}” and {_name(first.restriction.substance)}, on any label"
    return first.food


def _sentence(first: Question, same: Iterable[Question]) -> str:
    avoided = _name(first.restriction.substance)
    if first.is_by_word:
        hidden = " and ".join(sorted({_name(each.about) for each in same}))
        return (
            f"“{first.reason.term}” may hold {hidden} or be made from it, and no law makes the label say so. May a "
            f"child who must avoid {avoided} have foods whose labels say “{first.reason.term}”?"
        )
    told = " ".join(dict.fromkeys(each.reason.sentence for each in same))
    if first.reason.kind == Kind.SAME_MEAL:
        return f"{told} May this one be served at such a meal? None of what is named beside it may be served then."
    return f"{told} May a child who must avoid {avoided} have it?"


def _name(code: str) -> str:
    return Catalogue.load().get(code).name
