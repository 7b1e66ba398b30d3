"""Statements, reviews and ends: each a dated version, and nothing but a licensed signature makes anything milder."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.utils import timezone

from menus.labels.evidence import Kind
from menus.models.facts import FactChanged
from roster.life.scan import Scan
from roster.life.statement import end_restriction, receive_statement, review_statement
from roster.models import Action, Basis, Child, Restriction, Review, State, Statement, Strictness, User, Verb
from roster.services import StaleVersion, record_restriction, sign_allowance
from tests.cast import Cast

PAPER = Scan(b"%PDF-1.4 %%EOF", "application/pdf")


def today() -> date:
    return timezone.localdate()


def newest(child: Child, substance: str) -> Restriction:
    return Restriction.objects.known(timezone.now()).get(child=child, substance=substance)


def received(
    cast: Cast, *under: Restriction, by: User | None = None, scan: Scan | None = None, **more: Any
) -> Statement:
    """What Hakim receives about Kofi."""
    filled: dict[str, Any] = {
        "further": {},
        "signatory": "P. Example",
        "credential": "prescriber",
        "licence_state": "Illinois",
        "signed_on": today() - timedelta(days=10),
        "review_on": today() + timedelta(days=355),
        "program": "nslp",
        "impairment": "An immune reaction.",
        "accommodate": "Leave it out.",
        "omit": "Egg in every form.",
        "instead": "A bean patty.",
        **more,
    }
    return receive_statement(child=cast.kofi, received_by=by or cast.hakim, under=under, scan=scan, **filled)


def reviewed(cast: Cast, statement: Statement, by: User | None = None, **more: Any) -> Review:
    """What Hakim finds in it."""
    stands = Restriction.objects.known(timezone.now()).filter(statement=statement)
    filled: dict[str, Any] = {
        "strictness": {version: version.strictness for version in stands},
        "wanting": "",
        "note": "",
        "signature": "Hakim, RN",
        **more,
    }
    return review_statement(statement=statement, reviewed_by=by or cast.hakim, **filled)


def ended(cast: Cast, version: Restriction, by: User | None = None, **more: Any) -> Restriction:
    """Hakim ends it today."""
    filled = {"last_day": today(), "reason": "Outgrown, by the clinic's letter.", "signature": "Hakim, RN", **more}
    return end_restriction(version=version, ended_by=by or cast.hakim, **filled)


def test_from_report_to_end(cast: Cast) -> None:
    """Every state is a version of its own, and each past moment still answers as it did."""
    egg = newest(cast.kofi, "egg")
    moments: list[tuple[datetime, State]] = [(timezone.now(), State.REPORTED)]
    statement = received(cast, egg)
    moments.append((timezone.now(), State.RECEIVED))
    reviewed(cast, statement)
    moments.append((timezone.now(), State.IN_FORCE))
    ended(cast, newest(cast.kofi, "egg"))
    for moment, state in moments:
        (stood,) = Restriction.objects.in_force(today(), today(), moment).filter(child=cast.kofi, substance="egg")
        assert stood.state_on(today()) == state
    last = newest(cast.kofi, "egg")
    assert (last.number, last.chain) == (4, egg.pk)
    assert last.state_on(today()) == State.IN_FORCE  # to the end of its last day
    assert last.state_on(today() + timedelta(days=1)) == State.ENDED


@pytest.mark.parametrize(
    ("days_left", "state"),
    [
        (61, State.IN_FORCE),
        (60, State.DUE),
        (30, State.DUE),
        (7, State.DUE),
        (1, State.DUE),
        (0, State.EXPIRED),
        (-400, State.EXPIRED),
    ],
)
def test_s69_an_expired_statement_keeps_protecting(cast: Cast, days_left: int, state: State) -> None:
    """S69. Basis: common practice, no source. Due from 60 days before; expired on its day; in force all the while."""
    day = today() + timedelta(days=355 - days_left)
    reviewed(cast, received(cast, newest(cast.kofi, "egg")))
    egg = newest(cast.kofi, "egg")
    assert egg.state_on(day) == state
    assert egg.holds_on(day)
    assert egg in Restriction.objects.in_force(day, day, timezone.now())


@pytest.mark.parametrize(
    ("program", "signed_on", "accepted"),
    [
        ("nslp", date(2025, 6, 30), False),
        ("nslp", date(2025, 7, 1), True),
        ("cacfp", date(2025, 9, 30), False),
        ("cacfp", date(2025, 10, 1), True),
    ],
)
def test_s70_signed_by_a_registered_dietitian(cast: Cast, program: str, signed_on: date, accepted: bool) -> None:
    """S70. Source: 7 CFR 210.10(m)(1)(i), FNS SP 07-2025/CACFP 07-2025 (read). Kept and protecting either way."""
    statement = received(
        cast, newest(cast.kofi, "egg"), credential="registered-dietitian", program=program, signed_on=signed_on
    )
    assert statement.signer_must_be_accepted is accepted
    assert bool(statement.wanting) is not accepted
    assert newest(cast.kofi, "egg").holds_on(today())


def test_s71_the_clear_part_holds_and_a_better_statement_is_asked_for(cast: Cast) -> None:
    """S71. Source: California Department of Education (read): act on the clear part at once."""
    statement = received(cast, newest(cast.kofi, "egg"), instead="")
    (lacks,) = statement.wanting
    assert "foods to give instead" in lacks
    reviewed(cast, statement, wanting="What to give instead of egg.")
    egg = newest(cast.kofi, "egg")
    assert egg.state_on(today()) == State.REVIEWED
    assert (egg.basis, egg.holds_on(today())) == (Basis.STATEMENT, True)


def test_s72_what_the_statement_leaves_out_stays(cast: Cast) -> None:
    """S72. Basis: common practice, no source. Parents add, licensed staff end: sesame was reported and stays so."""
    reviewed(cast, received(cast, newest(cast.kofi, "egg")))
    sesame = newest(cast.kofi, "sesame")
    assert (sesame.state_on(today()), sesame.strictness) == (State.REPORTED, Strictness.TRACE)


def test_a_statement_may_name_more_than_was_reported(cast: Cast) -> None:
    """It protects from its receipt, before anybody has reviewed it."""
    received(cast, newest(cast.kofi, "egg"), further={"milk": "trace"})
    milk = newest(cast.kofi, "milk")
    assert (milk.state_on(today()), milk.basis) == (State.RECEIVED, Basis.STATEMENT)


def test_a_newer_statement_waits_for_its_review_and_relaxes_nothing(cast: Cast) -> None:
    """What the first review allowed in traces stays; what it did not, does too."""
    first = received(cast, newest(cast.kofi, "egg"))
    reviewed(cast, first)
    received(cast, newest(cast.kofi, "egg"), replaces=first)
    egg = newest(cast.kofi, "egg")
    assert (egg.state_on(today()), egg.strictness) == (State.RECEIVED, Strictness.TRACE)


def test_only_a_review_lets_traces_pass(cast: Cast) -> None:
    """Signed, against the statement that says so."""
    statement = received(cast, newest(cast.kofi, "egg"))
    egg = newest(cast.kofi, "egg")
    with pytest.raises(ValidationError, match="make a medical restriction milder"):
        record_restriction(child=cast.kofi, substance="egg", replaces=egg, strictness="ingredient")
    review = reviewed(cast, statement, strictness={egg: "ingredient"})
    assert (newest(cast.kofi, "egg").strictness, newest(cast.kofi, "egg").review) == ("ingredient", review)


@pytest.mark.parametrize("who", ["rosa", "greta", "june", "wren"])
def test_s76_nobody_else_receives_reviews_or_ends(cast: Cast, who: str) -> None:
    """S76. Basis: design. A teacher, a cook, an administrator, somebody without a post: refused, nothing saved."""
    statement, person = received(cast, newest(cast.kofi, "egg")), getattr(cast, who)
    versions = Restriction.objects.count()
    for attempt in (
        lambda: received(cast, newest(cast.kofi, "sesame"), by=person),
        lambda: reviewed(cast, statement, by=person),
        lambda: ended(cast, newest(cast.kofi, "egg"), by=person),
    ):
        with pytest.raises(PermissionDenied):
            attempt()
    assert (Restriction.objects.count(), Statement.objects.count()) == (versions, 1)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"reason": " "}, "Say why it ends"),
        ({"signature": " "}, "This is signed"),
        ({"last_day": date(2026, 1, 1)}, "cannot lie before today"),
    ],
)
def test_an_end_has_a_reason_a_signature_and_a_day(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Or it stays in force."""
    egg = newest(cast.kofi, "egg")
    with pytest.raises(ValidationError, match=told):
        ended(cast, egg, **more)
    assert newest(cast.kofi, "egg") == egg


def test_an_allowance_ends_with_its_restriction_and_does_not_come_back(cast: Cast) -> None:
    """Reported anew, it begins anew."""
    egg = newest(cast.kofi, "egg")
    allowance = sign_allowance(
        restriction=egg,
        kind=Kind.REFINED_OIL,
        about="egg",
        label=None,
        starts_on=today(),
        ends_on=today() + timedelta(days=90),
        signed_by=cast.hakim,
        signature="Hakim, RN",
    )
    statement = received(cast, egg)
    reviewed(cast, statement)
    assert newest(cast.kofi, "egg").chain == allowance.restriction.chain  # through its next versions
    ended(cast, newest(cast.kofi, "egg"))
    again = record_restriction(child=cast.kofi, substance="egg")
    assert again.chain != allowance.restriction.chain


def test_two_at_once_the_second_is_refused_with_both_versions(cast: Cast) -> None:
    """Whoever comes second has seen something else than what is on record."""
    seen = newest(cast.kofi, "egg")
    statement = received(cast, seen)
    for attempt in (lambda: received(cast, seen), lambda: ended(cast, seen)):
        with pytest.raises(StaleVersion) as refused:
            attempt()
        assert (refused.value.old, refused.value.newer) == (seen, newest(cast.kofi, "egg"))
    assert list(Statement.objects.all()) == [statement]


def test_a_refused_statement_leaves_no_scan_behind(cast: Cast) -> None:
    """Neither row nor file."""
    seen = newest(cast.kofi, "egg")
    received(cast, seen)
    before = _files("statements")  # other tests of the process may have left some
    with pytest.raises(StaleVersion):
        received(cast, seen, scan=PAPER)
    assert _files("statements") == before


def _files(folder: str) -> list[str]:
    if not default_storage.exists(folder):
        return []
    folders, files = default_storage.listdir(folder)
    return files + [file for each in folders for file in _files(f"{folder}/{each}")]


def test_a_scan_is_kept_under_a_name_that_says_nothing(cast: Cast) -> None:
    """Its digest is on record."""
    statement = received(cast, newest(cast.kofi, "egg"), scan=PAPER)
    assert "kofi" not in statement.scan.name.lower() and not statement.scan.name.endswith(".pdf")
    with statement.scan.open("rb") as file:
        assert file.read() == PAPER.data
    statement.scan.delete(save=False)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"signed_on": date(2030, 1, 1), "review_on": date(2031, 1, 1)}, "still to come"),
        ({"review_on": date(2020, 1, 1)}, "run out before"),
        ({"signatory": ""}, "blank"),
    ],
)
def test_a_statement_that_cannot_be_is_refused(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Nothing is kept."""
    with pytest.raises(ValidationError, match=told):
        received(cast, newest(cast.kofi, "egg"), **more)
    assert not Statement.objects.exists()


def test_a_review_of_what_stands_elsewhere_is_refused(cast: Cast) -> None:
    """A restriction under another statement cannot be slipped in."""
    statement = received(cast, newest(cast.kofi, "egg"))
    with pytest.raises(ValidationError, match="does not stand under this statement"):
        reviewed(cast, statement, strictness={newest(cast.kofi, "sesame"): "ingredient"})
    with pytest.raises(ValidationError, match="nothing to put in force"):
        reviewed(cast, statement, strictness={})
    assert not Review.objects.exists()


def test_statements_and_reviews_are_facts(cast: Cast) -> None:
    """Neither edited nor deleted."""
    statement = received(cast, newest(cast.kofi, "egg"))
    for fact in (statement, reviewed(cast, statement)):
        with pytest.raises(FactChanged):
            fact.save()
        with pytest.raises(FactChanged):
            fact.delete()


def test_every_step_is_on_record(cast: Cast) -> None:
    """Who, what, and what stood before and after."""
    before = Action.objects.filter(child=cast.kofi).count()
    statement = received(cast, newest(cast.kofi, "egg"))
    reviewed(cast, statement)
    ended(cast, newest(cast.kofi, "egg"))
    entries = list(Action.objects.filter(child=cast.kofi).order_by("number"))[before:]
    assert [entry.verb for entry in entries] == [
        Verb.RECORDED,  # the statement
        Verb.RECORDED,  # egg under it
        Verb.RECORDED,  # egg reviewed
        Verb.ANSWERED,  # the review
        Verb.ENDED,
    ]
    assert {entry.actor for entry in entries} == {cast.hakim}
    said = json.loads(entries[-1].payload)["said"]
    assert "ends_on" not in said["before"] and said["after"]["ends_on"] == today().isoformat()
