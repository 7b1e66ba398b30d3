"""Open referrals for what a check could not decide, and take licensed staff's signed answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.checks.reasons import Reason
from compliance.models import Referral, Run
from compliance.rules.values import Outcome
from menus.labels.evidence import ANY, STANDING, Kind
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.access import has_role
from roster.models import Restriction, Role, User
from roster.services import sign_allowance

Key = tuple[int, str, str]
"""Child, substance, subject: what is asked once."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is to be asked about one child and one food."""

    restriction: Restriction
    site: Site
    reason: Reason
    food: str
    needed_by: date

    @property
    def key(self) -> Key:
        """What tells this question from others."""
        return (self.restriction.child_id, self.restriction.substance, self.subject)

    @property
    def subject(self) -> str:
        """What the question is about: while it is open, or its answer holds, the same is not asked again."""
        reason = self.reason
        if reason.kind in STANDING:
            return f"{reason.kind}:{reason.substance}"  # one decision for the child, whatever it is in
        for link in ("label", "product", "recipe"):
            if ref := reason.ref_of(link):
                return f"{reason.kind}:{link}:{ref}"
        return f"{reason.kind}:{self.food}"[:200]


def open_referrals(run: Run) -> int:
    """Open a referral for every child and question of the run's `refer` verdicts that nobody has been asked yet.

    Returns how many were opened. The caller holds the transaction.
    """
    asked = ExceptionFilter(run.first_day, run.last_day, site=run.site, outcome=Outcome.REFER)
    questions = [
        Question(row.restriction, run.site, reason, reason.name_of("product") or row.dish, row.date)
        for row in found_exceptions(asked)
        for reason in row.reasons
    ]
    _withdraw(run, {question.key for question in questions})
    return ask(questions)


def _withdraw(run: Run, raised: set[Key]) -> None:
    """Take back what earlier runs asked and this one does not: the label, the menu or the restriction has changed.

    A run that has not looked at today, or at the day for which a question stands, takes back nothing.
    """
    if run.first_day > run.as_of.astimezone(run.site.zone).date():
        return
    waiting = Referral.objects.waiting().filter(site=run.site, asked_by=None, needed_by__lte=run.last_day)
    gone = [each.pk for each in waiting if (each.child_id, each.substance, each.subject) not in raised]
    waiting.filter(pk__in=gone).update(withdrawn_at=timezone.now())  # one answered meanwhile is no longer waiting


def ask(questions: Iterable[Question], asked_by: User | None = None) -> int:
    """Open a referral for each question that is neither open nor answered for its day. Returns how many were opened."""
    fresh: dict[Key, list[Question]] = {}
    for question in questions:
        if question.reason.outcome is Outcome.REFER and not question.reason.allowed:
            fresh.setdefault(question.key, []).append(question)
    taken = _taken(fresh)
    rows = [
        _referral(sorted(same, key=lambda each: each.needed_by), asked_by)
        for key, same in fresh.items()
        if key not in taken or min(each.needed_by for each in same) > taken[key]
    ]
    Referral.objects.bulk_create(rows, ignore_conflicts=True)  # somebody else may open the same at this moment
    return len(rows)


@transaction.atomic
def answer_referrals(
    *, referrals: Iterable[Referral], user: User, answer: str, note: str, ends_on: date, signature: str
) -> list[Referral]:
    """Answer questions on the same subject with one signature. An `allow` becomes an allowance of that scope.

    Raises PermissionDenied when the user is not licensed for a site concerned, ValidationError when an answer is not
    whole, or allows what cannot be allowed in general.
    """
    wanted = [referral.pk for referral in referrals]
    locked = list(Referral.objects.select_for_update().filter(pk__in=wanted).order_by("pk"))
    for referral in locked:
        _check(referral, user, answer, ends_on, signature)
        if answer == Referral.Answer.ALLOW:
            referral.allowance = sign_allowance(
                child=referral.child,
                substance=referral.substance,
                kind=Kind(referral.kind),
                about="" if referral.about == ANY else referral.about,
                label=None if referral.is_standing else referral.label,
                starts_on=timezone.now().astimezone(referral.site.zone).date(),
                ends_on=ends_on,
                signed_by=user,
                signature=signature.strip(),
            )
        referral.answer, referral.answer_note, referral.answer_ends_on = answer, note, ends_on
        referral.signature, referral.answered_by, referral.answered_at = signature.strip(), user, timezone.now()
        referral.save()
    return locked


def _check(referral: Referral, user: User, answer: str, ends_on: date, signature: str) -> None:
    if not has_role(user, Role.LICENSED, site=referral.site):
        raise PermissionDenied("Only licensed staff of the child's site answer referrals.")
    if referral.withdrawn_at:
        raise ValidationError(
            "This question has fallen away since: the label, the menu or the restriction has changed. Reload the list.",
            code="withdrawn",
        )
    if referral.answered_at:
        raise ValidationError(
            f"This question was answered by {referral.answered_by} on {referral.answered_at:%Y-%m-%d}. "
            "Reload the list to see the answer.",
            code="answered",
        )
    if answer not in Referral.Answer.values:
        raise ValidationError("Choose an answer: keep withholding, or allow within the scope.", code="answer")
    if not signature.strip():
        raise ValidationError("An answer is signed. Type your name and credential.", code="signature")
    if ends_on < timezone.now().astimezone(referral.site.zone).date():
        raise ValidationError("The answer would have ended already. Give a last day from today on.", code="ends-on")
    if answer == Referral.Answer.ALLOW and not referral.can_be_allowed:
        raise ValidationError(
            "Nothing can be allowed while no label is on record: there is nothing to allow it against. "
            "Ask the kitchen to record the label, or keep withholding.",
            code="no-label",
        )


def _taken(keys: Iterable[Key]) -> dict[Key, date]:
    """Return the last day for which each question needs no asking; an open one needs none for any."""
    children = {child for child, _, _ in keys}
    taken: dict[Key, date] = {}
    for referral in Referral.objects.filter(child__in=children, withdrawn_at=None).order_by("opened_at", "pk"):
        key = (referral.child_id, referral.substance, referral.subject)
        taken[key] = referral.answer_ends_on or date.max
    return taken


def _referral(same: list[Question], asked_by: User | None) -> Referral:
    """Return one referral for questions on the same subject, the earliest first; it names all that an answer covers."""
    question, reason = same[0], same[0].reason
    sentences = dict.fromkeys(each.reason.sentence for each in same)
    words = dict.fromkeys(each.reason.words for each in same if each.reason.words)
    substance = Catalogue.load().get(question.restriction.substance).name
    return Referral(
        child_id=question.restriction.child_id,
        site=question.site,
        restriction=question.restriction,
        substance=question.restriction.substance,
        kind=reason.kind,
        about=reason.substance,
        subject=question.subject,
        food=question.food,
        question=f"{' '.join(sentences)} May a child who must avoid {substance} have it?",
        label_id=int(reason.label_id) if reason.label_id else None,
        words="; ".join(words),
        needed_by=question.needed_by,
        asked_by=asked_by,
    )
