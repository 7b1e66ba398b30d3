"""Open referrals for what a treat check could not decide, and take licensed staff's signed answers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from compliance.checks.apart import refuse_both
from compliance.checks.questions import Key, Question, earliest, is_open, referral_of
from compliance.checks.recorded import note_asked
from compliance.models import Referral
from menus.labels.evidence import ANY, Kind
from roster.access import is_licensed_for, may
from roster.models import Allowance, Child, User, Verb
from roster.permits import Act, Thing
from roster.record.write import record
from roster.services import sign_allowance

__all__ = ["Question", "answer_referrals", "ask"]


def ask(questions: Iterable[Question], asked_by: User | None = None) -> int:
    """Open a referral for each question that is neither open nor answered for its day. Returns how many were opened.

    An open question never grows under the hands of whoever is about to answer it: when the same is to be asked about a
    further substance, it is taken back and a wider one asked in its place.
    """
    raised: dict[Key, list[Question]] = {}
    for question in questions:
        if is_open(question.reason):
            raised.setdefault(question.key, []).append(question)
    answered, waiting = _asked_before(raised)
    rows: list[Referral] = []
    narrower: list[int] = []
    for key, same in raised.items():
        due = _due(same, answered.get(key, {}))
        before = waiting.get(key)
        if not due:
            continue
        if before and {each.about for each in due} <= set(before.about):
            _bring_forward(before, earliest(due))
            continue
        if before:
            narrower.append(before.pk)
        rows.append(referral_of(due, asked_by or (before.asked_by if before else None)))
    _take_back(narrower)
    Referral.objects.bulk_create(rows, ignore_conflicts=True)  # somebody else may open the same at this moment
    note_asked(rows)
    return len(rows)


def _bring_forward(waiting: Referral, question: Question) -> None:
    """The same is needed earlier than it was asked for: a treat today, what the menu needs next week."""
    if question.needed_by < waiting.needed_by:
        earlier = {"needed_by": question.needed_by, "needed_at": question.needed_at}
        Referral.objects.waiting().filter(pk=waiting.pk).update(**earlier)


def _due(same: list[Question], answered: dict[str, date]) -> list[Question]:
    """Return the questions about those substances that are first needed after the answer about them has ended."""
    first: dict[str, date] = {}
    for question in same:
        first[question.about] = min(question.needed_by, first.get(question.about, question.needed_by))
    return [each for each in same if each.about not in answered or first[each.about] > answered[each.about]]


def _take_back(referrals: list[int]) -> None:
    # One answered meanwhile is no longer waiting.
    Referral.objects.waiting().filter(pk__in=referrals).update(withdrawn_at=timezone.now())


def _asked_before(keys: Iterable[Key]) -> tuple[dict[Key, dict[str, date]], dict[Key, Referral]]:
    """Return the last day of the newest answer about each substance, and the questions still open. One query."""
    answered: dict[Key, dict[str, date]] = {}
    waiting: dict[Key, Referral] = {}
    for referral in Referral.objects.about({chain for chain, _ in keys}):
        if referral.answer_ends_on is None:
            waiting[_key(referral)] = referral
            continue
        for substance in referral.about:
            answered.setdefault(_key(referral), {})[substance] = referral.answer_ends_on
    return answered, waiting


def _key(referral: Referral) -> Key:
    return (referral.chain, referral.subject)


@transaction.atomic
def answer_referrals(
    *, referrals: Iterable[Referral], user: User, answer: str, note: str, ends_on: date, signature: str
) -> list[Referral]:
    """Answer questions on the same subject with one signature. An `allow` becomes an allowance of that scope.

    About a texture it becomes none: the answer itself holds, for that label version and that version of the level.

    Raises PermissionDenied when the user is not licensed for a site concerned, ValidationError when an answer is not
    whole, or allows what cannot be allowed in general or for a child that has left.
    """
    wanted = [referral.pk for referral in referrals]
    children = Child.objects.filter(referrals__in=wanted).order_by("pk").distinct().values("pk")
    # Two answers about one child must see each other, since what one allows may rule out the other (`refuse_both`).
    list(Child.objects.select_for_update(no_key=True).filter(pk__in=children).order_by("pk"))
    locked = list(Referral.objects.select_for_update().filter(pk__in=wanted).order_by("pk"))
    for referral in locked:
        _check(referral, user, answer, ends_on, signature)
        if answer == Referral.Answer.ALLOW and referral.restriction:
            refuse_both(referral)
            referral.allowances.set(_allowances(referral, user, ends_on, signature))
        referral.answer, referral.answer_note, referral.answer_ends_on = answer, note, ends_on
        referral.signature, referral.answered_by, referral.answered_at = signature.strip(), user, timezone.now()
        referral.save()
    for referral in locked:
        record(
            Verb.ANSWERED,
            referral,
            site=referral.site,
            child=referral.child,
            by=user.pk,
            answer=answer,
            note=note,
            ends_on=ends_on,
            signature=referral.signature,
        )
    return locked


def _allowances(referral: Referral, user: User, ends_on: date, signature: str) -> list[Allowance]:
    """Sign one allowance for each substance that the question named, so that none covers what nobody was asked about.

    Gluten is asked about once, though “natural flavor” may hold barley and, where no law forbids, wheat. One allowance
    for whatever the word holds would grow with the lexicon; one for each named substance cannot.
    """
    assert referral.restriction is not None  # of a texture nothing is signed beside the answer itself
    return [
        sign_allowance(
            restriction=referral.restriction,
            kind=Kind(referral.kind),
            about="" if substance == ANY else substance,
            term=referral.term,
            label=None if referral.is_standing else referral.label,
            starts_on=timezone.now().astimezone(referral.site.zone).date(),
            ends_on=ends_on,
            signed_by=user,
            signature=signature.strip(),
        )
        for substance in referral.about
    ]


def _check(referral: Referral, user: User, answer: str, ends_on: date, signature: str) -> None:
    if not may(user, Thing.REFERRAL, Act.SIGN, site=referral.site):
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
    if answer == Referral.Answer.ALLOW and not is_licensed_for(user, referral.child):
        raise ValidationError(
            "This child is no longer enrolled at a site of yours, and an allowance would go with the child. Keep "
            "withholding; licensed staff where the child is now decide anew.",
            code="left",
        )
    if answer == Referral.Answer.ALLOW and not referral.can_be_allowed:
        raise ValidationError(
            "Nothing can be allowed while no label is on record: there is nothing to allow it against. "
            "Ask the kitchen to record the label, or keep withholding.",
            code="no-label",
        )
