"""The outbox: told once, sent once, tried again with longer and longer pauses, given up in the end."""

from __future__ import annotations

import smtplib
from datetime import datetime, timedelta

import pytest
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import timezone

from compliance import tasks
from compliance.checks import sending
from compliance.checks.outbox import LEASE, LONGEST, SHORTEST, TRIES, claim, mail, pause_after, put, sent, try_again
from compliance.checks.sending import Sent, send_due
from compliance.models import OutgoingMail
from roster.models import User
from tests.cast import Cast
from tests.compliance.checks.mails import Server, mail_to

pytestmark = pytest.mark.django_db


@pytest.fixture
def serve(monkeypatch: pytest.MonkeyPatch):
    """Have mails go to this server."""

    def serve(server: Server) -> Server:
        monkeypatch.setattr(sending, "get_connection", lambda: server)
        return server

    return serve


def refused(code: int) -> smtplib.SMTPRecipientsRefused:
    return smtplib.SMTPRecipientsRefused({"greta@example.org": (code, b"Greta lives elsewhere")})


def now_of(sent: OutgoingMail) -> datetime:
    return sent.next_try_at


def test_a_mail_goes_once_and_is_emptied(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """That it went, and when, is all that stays."""
    kept = mail_to(cast.june)
    now = timezone.now()
    assert (send_due(now), send_due(now)) == (Sent(sent=1), Sent())
    kept.refresh_from_db()
    assert (kept.sent_at, kept.subject, kept.body, kept.error) == (now, "", "", "")
    (went,) = mailoutbox
    assert (went.to, went.subject, went.body) == ([cast.june.email], "Ferrowick: 2 on days ahead", "Two.")


def test_each_try_carries_the_same_number(cast: Cast, serve) -> None:
    """So that a mail that came twice after all shows as one, and nobody's machine answers it."""
    kept, now = mail_to(cast.june), timezone.now()
    first, second = serve(Server()), Server()
    send_due(now)
    OutgoingMail.objects.filter(pk=kept.pk).update(sent_at=None, subject="x", next_try_at=now)
    serve(second)
    send_due(now)
    (one,), (other,) = first.took, second.took
    assert one.extra_headers == other.extra_headers
    assert one.message()["Message-ID"].startswith(f"<mail.{kept.pk}.") and one.message()["Auto-Submitted"]


def test_nobody_is_told_the_same_twice(cast: Cast) -> None:
    """Whoever puts it a second time."""
    for _ in range(2):
        put([mail(OutgoingMail.Kind.DIGEST, cast.june, "checks from 1", "x", "y")])
    put([mail(OutgoingMail.Kind.DIGEST, cast.hakim, "checks from 1", "x", "y")])
    put([mail(OutgoingMail.Kind.DIGEST, cast.june, "checks from 2", "x", "y")])
    assert OutgoingMail.objects.count() == 3


def test_what_is_taken_back_is_not_sent(cast: Cast) -> None:
    """A mail stands or falls with what it tells of."""
    with pytest.raises(RuntimeError), transaction.atomic():
        mail_to(cast.june)
        raise RuntimeError
    assert send_due(timezone.now()) == Sent()


def test_the_queue_is_asked_once_for_many(cast: Cast, monkeypatch, django_capture_on_commit_callbacks) -> None:
    """When the transaction is through."""
    asked: list[None] = []
    monkeypatch.setattr(tasks.send_mail, "delay", lambda: asked.append(None))
    with django_capture_on_commit_callbacks(execute=True):
        for person in (cast.june, cast.hakim, cast.greta):
            mail_to(person)
        assert not asked
    assert len(asked) == 1


def test_two_senders_never_send_one_twice(cast: Cast) -> None:
    """Whoever comes second finds it claimed; one that died is made up for when its claim has run out."""
    kept, now = mail_to(cast.june), timezone.now()
    first = claim(kept.pk, now)
    assert first and first.attempts == 1
    assert claim(kept.pk, now) is None and claim(kept.pk, now + LEASE / 2) is None
    again = claim(kept.pk, now + LEASE)
    assert again and again.attempts == 2
    sent(first, now)  # it was only slow
    assert claim(kept.pk, now + 3 * LEASE) is None


def test_a_server_that_is_away_keeps_all_of_them_waiting(cast: Cast, serve, caplog) -> None:
    """With a reason and a time; when it is back they go, each once."""
    mails = [mail_to(person) for person in (cast.june, cast.hakim)]
    now = timezone.now()
    serve(Server(ConnectionRefusedError("refused")))
    assert send_due(now) == Sent(failed=2)
    for kept in mails:
        kept.refresh_from_db()
        assert (kept.attempts, kept.next_try_at) == (1, now + SHORTEST)
        assert kept.error == (
            "The mail server does not answer (ConnectionRefusedError). Mend EMAIL_HOST and its settings."
        )
    assert send_due(now) == Sent()
    server = serve(Server())
    assert send_due(now + SHORTEST) == Sent(sent=2) and len(server.took) == 2


def test_one_that_breaks_off_keeps_the_rest_waiting(cast: Cast, serve) -> None:
    """Nobody waits for every single one to fail."""
    for person in (cast.june, cast.hakim, cast.greta):
        mail_to(person)
    server = serve(Server(hakim=smtplib.SMTPServerDisconnected("gone")))
    assert send_due(timezone.now()) == Sent(sent=1, failed=2)
    assert [each.to for each in server.took] == [[cast.june.email]]


def test_one_address_keeps_no_other_mail(cast: Cast, serve) -> None:
    """Refused for good it is given up at once, and for the moment tried again."""
    gone, full, fine = mail_to(cast.greta), mail_to(cast.hakim), mail_to(cast.june)
    serve(Server(greta=refused(550), hakim=refused(452)))
    assert send_due(timezone.now()) == Sent(sent=1, failed=1, given_up=1)
    for kept in (gone, full, fine):
        kept.refresh_from_db()
    refusal = "The mail server does not take mail for this address (550). Mend it under People."
    assert gone.given_up_at and gone.error == refusal
    assert full.given_up_at is None and "(452)" in full.error
    assert fine.sent_at


@pytest.mark.parametrize("change", [{"email": ""}, {"is_active": False}])
def test_a_closed_account_gets_none(cast: Cast, change: dict[str, object], mailoutbox: list[EmailMessage]) -> None:
    """Nor one that has lost its address since; the page says so."""
    kept = mail_to(cast.greta)
    User.objects.filter(pk=cast.greta.pk).update(**change)
    assert send_due(timezone.now()) == Sent(given_up=1) and mailoutbox == []
    kept.refresh_from_db()
    assert "closed or has no mail address" in kept.error


def test_an_address_that_is_none_keeps_no_other_mail(cast: Cast, serve) -> None:
    """It cannot be written at all."""
    mail_to(cast.greta)
    mail_to(cast.june)
    serve(Server(greta=ValueError("Invalid address; only greta could be parsed")))
    assert send_due(timezone.now()) == Sent(sent=1, given_up=1)


def test_pauses_double_up_to_half_a_day() -> None:
    """From a minute on; about two days in all."""
    pauses = [pause_after(tries) for tries in range(1, TRIES)]
    assert pauses[:4] == [SHORTEST, 2 * SHORTEST, 4 * SHORTEST, 8 * SHORTEST] and pauses[-1] == LONGEST
    assert timedelta(days=2) <= sum(pauses, timedelta()) <= timedelta(days=2, hours=6)


def test_in_the_end_it_is_given_up_and_can_be_tried_again(cast: Cast, serve, mailoutbox: list[EmailMessage]) -> None:
    """The text is kept for that; the tries begin anew."""
    kept, now = mail_to(cast.june), timezone.now()
    serve(Server(TimeoutError()))
    for n in range(TRIES):
        assert send_due(now) == Sent(failed=int(n < TRIES - 1), given_up=int(n == TRIES - 1))
        kept.refresh_from_db()
        now = now_of(kept)
    assert kept.given_up_at and kept.body == "Two."
    assert list(OutgoingMail.objects.given_up()) == [kept] and not OutgoingMail.objects.waiting()
    assert try_again(OutgoingMail.objects.all(), now) == 1
    serve(Server())
    assert send_due(now) == Sent(sent=1)
    assert try_again(OutgoingMail.objects.all(), now) == 0


def test_neither_row_nor_log_holds_an_address(cast: Cast, serve, caplog: pytest.LogCaptureFixture) -> None:
    """What the server writes may name a person."""
    kept = mail_to(cast.greta)
    serve(Server(greta=refused(550)))
    send_due(timezone.now())
    kept.refresh_from_db()
    assert f"Mail {kept.pk} to account {cast.greta.pk} is given up" in caplog.text
    assert "greta" not in (caplog.text + kept.error).lower()


def test_a_line_break_in_a_name_ends_no_header(cast: Cast) -> None:
    """Names of sites are typed."""
    made = mail(OutgoingMail.Kind.DIGEST, cast.june, "x", "Ferrowick\r\nBcc: all@example.org: 2 new", "y")
    assert made.subject == "Ferrowick Bcc: all@example.org: 2 new"


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (smtplib.SMTPAuthenticationError(535, b"no"), "Mend EMAIL_HOST_USER and the password."),
        (smtplib.SMTPSenderRefused(553, b"no", "us"), "Mend DEFAULT_FROM_EMAIL."),
        (smtplib.SMTPNotSupportedError("STARTTLS"), "Mend EMAIL_USE_TLS."),
        (smtplib.SMTPConnectError(421, b"busy"), "The mail server answered 421."),
    ],
)
def test_a_setting_that_is_wrong_is_named(cast: Cast, serve, error: Exception, words: str) -> None:
    """All mails wait until it is mended."""
    kept = mail_to(cast.june)
    serve(Server(error))
    assert send_due(timezone.now()).failed == 1
    kept.refresh_from_db()
    assert words in kept.error


def test_the_door_from_the_queue(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Every minute, and after each that is put."""
    mail_to(cast.june)
    tasks.send_mail()
    assert len(mailoutbox) == 1
