"""Take in what a guardian sends about their own child, and licensed staff's answer. A form only ever adds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import QuerySet

from menus.sealed import with_its_row
from roster.access import children_with, own_children
from roster.kinds.kind import restriction_kinds
from roster.life.report import Said, report
from roster.life.scan import Scan
from roster.life.spoken import Heard, heard
from roster.life.statement import refuse_unlicensed
from roster.models import Asks, Basis, Child, GuardianAnswer, GuardianEntry, Restriction, Strictness, User, Verb
from roster.models.restriction import MEDICAL
from roster.permits import Act, Thing
from roster.record.write import record
from roster.services import record_restriction

TOLD_UNKNOWN = "The family keeps away: “{words}”. Licensed staff are asked what it means; do not serve it until then."
TOLD_MILK = "No milk to drink: the family asks for another drink. Licensed staff are asked; do not serve it until then."
MOST_WORDS = 80
"""So that what is told fits on the list of a class."""


def entries_in_care(user: User) -> QuerySet[GuardianEntry]:
    """Return what guardians sent in about the children for whom the person signs."""
    children = children_with(user, Thing.GUARDIAN_ENTRY, Act.READ)
    return GuardianEntry.objects.filter(child__in=children).select_related("child", "sent_by", "about", "answer")


def own_entries(user: User) -> QuerySet[GuardianEntry]:
    """Return what the person sent in about children whose guardian they still are."""
    mine = GuardianEntry.objects.filter(sent_by=user, child__in=own_children(user))
    return mine.select_related("child", "about", "answer")


def send_in(*, child: Child, sent_by: User, scan: Scan | None, **said: Any) -> GuardianEntry:
    """Record a guardian's form, and protect the child at once from what it names, as strictly as it can be read.

    `said` are the fields of GuardianEntry. Raises PermissionDenied for another's child, ValidationError for a form
    that asks for nothing or whose request is about another child's record.
    """
    if not own_children(sent_by).filter(pk=child.pk).exists():
        raise PermissionDenied("Guardians write about their own children only.")
    entry = GuardianEntry(child=child, sent_by=sent_by, **said)
    _refuse_empty(entry)
    if scan:
        entry.scan_type, entry.scan_sha256 = scan.media_type, scan.sha256
    entry.full_clean(exclude=["scan"])
    with with_its_row(entry.scan):
        _store(entry, scan)
    return entry


def _refuse_empty(entry: GuardianEntry) -> None:
    if entry.about and entry.about.child_id != entry.child_id:
        raise ValidationError("This is not on record for this child.", code="other-child")
    named = entry.substances or entry.kinds or entry.words.strip() or entry.milk_reason.strip()
    if entry.asks == Asks.AVOID and not named:  # a paper alone would protect from nothing until somebody reads it
        raise ValidationError("Name at least one food, a way of eating, or a reason for another drink.", code="nothing")
    unknown = [code for code in entry.kinds if code not in restriction_kinds()]
    if unknown:
        raise ValidationError("This way of eating is not on the list. Write it in your own words.", code="kind")


def _store(entry: GuardianEntry, scan: Scan | None) -> None:
    if scan:
        entry.scan.save("scan", ContentFile(scan.data), save=False)
    entry.save()
    protecting = list(_protect(entry)) if entry.asks == Asks.AVOID else []
    entry.restrictions.set(protecting)
    record(
        Verb.RECORDED,
        entry,
        site=entry.child.site,
        child=entry.child,
        by=entry.sent_by_id,
        asks=entry.asks,
        about=entry.about_id,
        scan=entry.scan_sha256,
        restrictions=[each.pk for each in protecting],
    )


def _protect(entry: GuardianEntry) -> Iterator[Restriction]:
    for said in _readings(entry):
        done = report(child=entry.child, said=said, reported_by=entry.sent_by)
        yield from (*done.recorded, *done.kept)


def _readings(entry: GuardianEntry) -> Iterator[Said]:
    """What the form comes down to. What rests on health reaches to traces, whatever was ticked."""
    basis = entry.basis or Basis.REPORTED
    reach = Strictness.TRACE if basis in MEDICAL else entry.strictness
    if entry.substances:
        yield Said(None, entry.substances, strictness=reach, basis=basis)
    for each in heard(entry.words):
        yield from _read(each, reach, basis)
    for code in entry.kinds:
        kind = restriction_kinds()[code]
        wider = Strictness.TRACE if entry.strictness == Strictness.TRACE else kind.strictness
        yield Said(kind, kind.substances, strictness=wider, told=kind.told)
    if entry.milk_reason.strip():
        yield Said(None, (), told=TOLD_MILK, basis=basis)


def _read(each: Heard, reach: str, basis: str) -> Iterator[Said]:
    """A known name is that; of other words a check looks for what comes near, and people are told the words."""
    note = f"As the family wrote it: {each.words}"[:200]
    if each.codes:
        yield Said(None, each.codes, strictness=reach, note=note, basis=basis)
    if not each.is_sure:
        told = TOLD_UNKNOWN.format(words=_short(each.words))
        yield Said(None, (), told=told, note=note, basis=basis)


def _short(words: str) -> str:
    return words if len(words) <= MOST_WORDS else f"{words[: MOST_WORDS - 1]}…"


@transaction.atomic
def answer_entry(
    *,
    entry: GuardianEntry,
    answered_by: User,
    signature: str,
    told: str,
    note: str = "",
    further: Sequence[str] = (),
    kinds: Mapping[Restriction, str] | None = None,
) -> GuardianAnswer:
    """Record licensed staff's answer. `further` are substances that the guardian's words mean; they protect from now.

    `kinds` says of what kind restrictions are, by the version that was shown. It takes nothing away: an end has a page,
    a reason and a signature of its own. Raises PermissionDenied, StaleVersion, ValidationError where it is unsigned,
    says nothing to the guardian, or somebody answered meanwhile.
    """
    refuse_unlicensed(answered_by, entry.child)
    if not signature.strip():
        raise ValidationError({"signature": "This is signed. Type your name and credential."})
    if not told.strip():
        raise ValidationError({"told": "Say what the guardian is to read: what holds now, and what you still need."})
    Child.objects.select_for_update(no_key=True).get(pk=entry.child_id)  # two answers at once must see each other
    before = GuardianAnswer.objects.filter(entry=entry).select_related("answered_by").first()
    if before:
        raise ValidationError(
            "%(who)s answered meanwhile: “%(told)s”. Nothing was saved now.",
            code="answered",
            params={"who": before.answered_by, "told": before.told},
        )
    for version, kind in (kinds or {}).items():
        record_restriction(
            child=entry.child, substance=version.substance, replaces=version, kind=kind, recorded_by=answered_by
        )
    if further:
        basis = entry.basis or Basis.REPORTED
        report(child=entry.child, said=Said(None, further, basis=basis), reported_by=answered_by)
    answer = GuardianAnswer(
        entry=entry, told=told.strip(), note=note.strip(), answered_by=answered_by, signature=signature.strip()
    )
    answer.full_clean()
    answer.save()
    record(
        Verb.ANSWERED,
        answer,
        site=entry.child.site,
        child=entry.child,
        by=answered_by.pk,
        entry=entry.pk,
        told=answer.told,
        note=answer.note,
        further=list(further),
        signature=answer.signature,
    )
    return answer
