"""A statement comes in, is reviewed by licensed staff, and what it names takes its place under it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.base import ContentFile
from django.db import transaction

from menus.sealed import with_its_row
from roster.access import is_licensed_for
from roster.life.scan import Scan
from roster.models import Basis, Child, Restriction, Review, Statement, User, Verb
from roster.record.write import record
from roster.services import record_restriction


def refuse_unlicensed(user: User, child: Child) -> None:
    """Raise PermissionDenied unless the person is licensed staff of a site of the child."""
    if not is_licensed_for(user, child):
        raise PermissionDenied("Only licensed staff of the child's site receive, review and end.")


def receive_statement(
    *,
    child: Child,
    received_by: User,
    under: Iterable[Restriction],
    further: Mapping[str, str],
    scan: Scan | None,
    **fields: Any,
) -> Statement:
    """Record a statement as it came in. `under` are the restrictions, as they were shown, that it speaks of.

    `further` are substances that it names beside those, with the strictness in which each is to be avoided; they
    protect from now. Nothing gets milder by it before somebody licensed has reviewed it. Raises PermissionDenied,
    StaleVersion, and ValidationError for what cannot be: signed in the future, run out before it was signed.
    """
    refuse_unlicensed(received_by, child)
    statement = Statement(child=child, received_by=received_by, **fields)
    _refuse_impossible(statement)
    if scan:
        statement.scan_type, statement.scan_sha256 = scan.media_type, scan.sha256
    statement.full_clean(exclude=["scan"])
    with with_its_row(statement.scan):
        _store(statement, scan)
        _put_under(statement, under, further, received_by)
    return statement


def _store(statement: Statement, scan: Scan | None) -> None:
    if scan:
        statement.scan.save("scan", ContentFile(scan.data), save=False)
    statement.save()
    child = statement.child
    record(
        Verb.RECORDED,
        statement,
        site=child.site,
        child=child,
        by=statement.received_by_id,
        signed_on=statement.signed_on,
        credential=statement.credential,
        review_on=statement.review_on,
        replaces=statement.replaces_id,
        scan=statement.scan_sha256,
    )


def _put_under(
    statement: Statement, under: Iterable[Restriction], further: Mapping[str, str], received_by: User
) -> None:
    papers: dict[str, Any] = {
        "basis": Basis.STATEMENT,
        "statement": statement,
        "review": None,
        "review_on": statement.review_on,
        "recorded_by": received_by,
    }
    for version in under:
        record_restriction(child=version.child, substance=version.substance, replaces=version, **papers)
    for code, strictness in further.items():
        record_restriction(child=statement.child, substance=code, strictness=strictness, **papers)


def _refuse_impossible(statement: Statement) -> None:
    today = statement.child.today
    if statement.signed_on > today:
        raise ValidationError({"signed_on": f"{statement.signed_on} is still to come. Give the day of the signature."})
    if statement.review_on <= statement.signed_on:
        raise ValidationError(
            {"review_on": "It would run out before or on the day of its signature. Give a later day."}
        )
    if statement.replaces and statement.replaces.child_id != statement.child_id:
        raise ValidationError("A statement takes the place of one for the same child.", code="other-child")


@transaction.atomic
def review_statement(
    *,
    statement: Statement,
    strictness: Mapping[Restriction, str],
    wanting: str,
    note: str,
    reviewed_by: User,
    signature: str,
) -> Review:
    """Record what licensed staff found, and put the restrictions in force as strictly as the statement asks.

    `strictness` holds the versions under the statement, as they were shown. What is clear holds at once; `wanting` is
    what a better statement is asked for. Raises PermissionDenied, StaleVersion, ValidationError.
    """
    refuse_unlicensed(reviewed_by, statement.child)
    _refuse_unsigned(signature)
    if not strictness:
        raise ValidationError(
            "No restriction stands under this statement, so there is nothing to put in force. Receive the statement "
            "again and name what it speaks of.",
            code="nothing",
        )
    if any(version.statement_id != statement.pk for version in strictness):
        raise ValidationError("One of the restrictions does not stand under this statement.", code="other-statement")
    review = Review(
        statement=statement,
        wanting=wanting.strip(),
        note=note.strip(),
        reviewed_by=reviewed_by,
        signature=signature.strip(),
    )
    review.full_clean()
    review.save()
    for version, reach in strictness.items():
        record_restriction(
            child=version.child,
            substance=version.substance,
            replaces=version,
            review=review,
            strictness=reach,
            recorded_by=reviewed_by,
        )
    child = statement.child
    record(
        Verb.ANSWERED,
        review,
        site=child.site,
        child=child,
        by=reviewed_by.pk,
        statement=statement.pk,
        wanting=review.wanting,
        note=review.note,
        signature=review.signature,
    )
    return review


@transaction.atomic
def end_restriction(
    *, version: Restriction, last_day: date, reason: str, ended_by: User, signature: str
) -> Restriction:
    """End a restriction after that day, which is today or later at the child's site. Only licensed staff do.

    Raises PermissionDenied, StaleVersion, ValidationError.
    """
    refuse_unlicensed(ended_by, version.child)
    _refuse_unsigned(signature)
    if not reason.strip():
        raise ValidationError({"reason": "Say why it ends, and on what paper or talk that rests."})
    today = version.child.today
    if last_day < today:
        raise ValidationError({"last_day": f"The last day cannot lie before today, {today}: what was, was."})
    return record_restriction(
        child=version.child,
        substance=version.substance,
        replaces=version,
        ends_on=last_day,
        end_reason=reason.strip(),
        signature=signature.strip(),
        recorded_by=ended_by,
    )


def _refuse_unsigned(signature: str) -> None:
    if not signature.strip():
        raise ValidationError({"signature": "This is signed. Type your name and credential."})
