"""The digest: who gets it, what it says, and that no mail trouble touches a check."""

from __future__ import annotations

from datetime import date, timedelta
from smtplib import SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core.mail import EmailMessage
from django.utils import timezone

from compliance.checks.known import Known, Met, News, news
from compliance.checks.night import check_and_tell
from compliance.config.logs import PrivateFormatter
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.services.labels import record_label
from roster.models import User
from tests.cast import Cast

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def addresses(cast: Cast) -> None:
    """Everybody but Pavel can be reached by mail."""
    for user in User.objects.exclude(username="pavel"):
        user.email = f"{user.username}@school.example"
        user.save()


def check(cast: Cast) -> Run:
    """Run the nightly check of Ferrowick."""
    return check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)


def test_goes_to_those_responsible_for_the_site(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Administrator, nurse and this site's cook; no teacher, no cook of another site, nobody without a post."""
    run = check(cast)
    responsible = {f"{name}@school.example" for name in ("june", "hakim", "tomas", "greta")}
    assert {mail.to[0] for mail in mailoutbox} == responsible
    assert run.counts["digest"]["sent"] == 4


def test_each_is_led_to_their_own_page(cast: Cast, mailoutbox: list[EmailMessage], settings) -> None:
    """The link is to the address that people type."""
    settings.SITE_ADDRESS = "https://menus.school.example"
    check(cast)
    bodies = {mail.to[0].partition("@")[0]: mail.body for mail in mailoutbox}
    assert "https://menus.school.example/exceptions/" in bodies["june"]
    assert "https://menus.school.example/referrals/" in bodies["hakim"]
    assert "https://menus.school.example/cycle/check/" in bodies["greta"]


def test_names_no_child_and_no_restriction(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Mail is read over shoulders and forwarded: it holds counts."""
    check(cast)
    said = "\n".join(mail.subject + mail.body for mail in mailoutbox)
    assert "on days that came into view" in said
    children = ("Noor", "Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi", "Bao")
    assert [word for word in (*children, "peanut", "gluten", "cashew", "pork") if word.lower() in said.lower()] == []


def test_says_as_of_when_and_that_silence_is_no_clearance(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """In the time of the site."""
    cast.ferrowick.time_zone = "America/Chicago"
    cast.ferrowick.save()
    run = check(cast)
    assert f"as of {run.as_of.astimezone(cast.ferrowick.zone):%Y-%m-%d %H:%M} (America/Chicago)" in mailoutbox[0].body
    assert "speak of the records checked, no more" in mailoutbox[0].body


def test_nothing_new_is_no_mail(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """A mail every night teaches people not to read it."""
    check(cast)
    mailoutbox.clear()
    run = check(cast)
    assert mailoutbox == []
    assert run.counts["digest"] == {"changed": 0, "gone": 0, "ahead": 0, "sent": 0, "failed": 0}


def test_a_new_label_on_days_checked_before_is_in_the_subject(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """The rice now names milk and sesame: Anneke and Kofi meet it."""
    check(cast)
    mailoutbox.clear()
    record_label(product=cast.larder.rice, ingredients="rice, milk powder, sesame", seen_on=timezone.localdate())

    run = check(cast)

    assert run.counts["digest"]["changed"] == 2
    assert {mail.subject for mail in mailoutbox} == {"Ferrowick Elementary School: 2 new in what was checked before"}


@pytest.mark.parametrize(
    "trouble",
    [
        SMTPServerDisconnected("gone"),
        ConnectionRefusedError("refused"),
        SMTPRecipientsRefused({"june@school.example": (550, b"no such mailbox")}),
    ],
)
def test_a_mail_that_cannot_be_sent_does_not_touch_the_check(
    cast: Cast, trouble: Exception, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """The run is complete, counts the failures, and the log says what to mend, and of whom no more than a number."""

    def refuse(message: EmailMessage) -> None:
        raise trouble

    monkeypatch.setattr(EmailMessage, "send", refuse)
    run = check(cast)

    run.refresh_from_db()
    assert run.state == Run.State.COMPLETE
    assert (run.counts["digest"]["sent"], run.counts["digest"]["failed"]) == (0, 4)
    assert f"The mail to account {cast.june.pk} could not be sent" in caplog.text
    written = "\n".join(PrivateFormatter().format(record) for record in caplog.records)
    assert "could not be sent" in written and "june" not in written


def test_somebody_whose_post_has_ended_gets_none(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Nor does a closed account."""
    cast.june.posts.update(ends_on=timezone.localdate() - timedelta(days=3))
    User.objects.filter(pk=cast.hakim.pk).update(is_active=False)
    check(cast)
    assert [mail.to for mail in mailoutbox] == [["tomas@school.example"], ["greta@school.example"]]


def test_news_tells_changes_from_days_that_came_into_view() -> None:
    """One stays, one changes its outcome, one goes, one comes with a new day."""
    monday, tuesday = date(2026, 9, 7), date(2026, 9, 8)
    stays = Met(1, monday, 1, "milk", Outcome.WITHHOLD)
    goes = Met(1, monday, 2, "egg", Outcome.WITHHOLD)
    comes = Met(2, tuesday, 1, "milk", Outcome.WITHHOLD)
    referred, withheld = (Met(1, monday, 3, "soy", outcome) for outcome in (Outcome.REFER, Outcome.WITHHOLD))
    before = Known(frozenset({stays, goes, referred}), frozenset({monday}))
    after = Known(frozenset({stays, withheld, comes}), frozenset({monday, tuesday}))
    assert news(before, after) == News(changed=1, gone=2, ahead=1)


def test_dishes_that_wait_for_one_answer_are_one_news() -> None:
    """Five dishes of a known day: one. A further day with the same question: none. The answer: one gone."""
    monday, tuesday = date(2026, 9, 7), date(2026, 9, 8)

    def waits(serving: int, day: date, word: str = "natural flavor") -> Met:
        return Met(serving, day, 1, "mustard", Outcome.REFER, (f"may-derive:mustard:{word}",))

    nothing = Known(frozenset(), frozenset({monday}))
    five = Known(frozenset(waits(n, monday) for n in range(5)), frozenset({monday}))
    ahead = Known(five.met | {waits(6, tuesday)}, frozenset({monday, tuesday}))
    other = Known(ahead.met | {waits(7, tuesday, "spice")}, ahead.days)
    assert news(nothing, five) == News(changed=1)
    assert news(five, ahead) == News()
    assert news(five, other) == News(ahead=1)
    assert news(five, nothing) == News(gone=1)


def test_a_further_dish_on_a_known_day_is_news_all_the_same() -> None:
    """The question is known, the dish is not: whoever cooks it today has to hear of it."""
    monday = date(2026, 9, 7)
    first, second = (Met(n, monday, 1, "mustard", Outcome.REFER, ("may-derive:mustard:spice",)) for n in (1, 2))
    days = frozenset({monday})
    assert news(Known(frozenset({first}), days), Known(frozenset({first, second}), days)) == News(changed=1)
