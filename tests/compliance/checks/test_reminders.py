"""Reminders: once as each term is crossed, made up after a missed night, without a name."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.mail import EmailMessage
from django.utils import timezone

from compliance.checks.night import check_and_tell
from compliance.checks.reminders import crossed
from compliance.checks.sending import send_due
from compliance.models import Run
from roster.life.due import Due, Why
from roster.models import Restriction, User
from tests.cast import Cast
from tests.factories import RestrictionFactory, ReviewFactory, StatementFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def hakim_alone(cast: Cast) -> None:
    """Nobody else has an address."""
    User.objects.exclude(pk=cast.hakim.pk).update(email="")


def signed(cast: Cast, days_left: int) -> None:
    """Bao's milk restriction on a statement that runs out in so many days at Ferrowick."""
    today = timezone.now().astimezone(cast.ferrowick.zone).date()
    review_on = today + timedelta(days=days_left)
    statement = StatementFactory(child=cast.bao, review_on=review_on, signed_on=today - timedelta(days=300))
    review = ReviewFactory(statement=statement)
    RestrictionFactory(child=cast.bao, substance="milk", statement=statement, review=review, review_on=review_on)


def night(cast: Cast, trigger: Run.Trigger = Run.Trigger.NIGHT) -> Run:
    run = check_and_tell(site=cast.ferrowick, trigger=trigger)
    send_due(timezone.now())
    return run


def reminders(mails: list[EmailMessage]) -> list[EmailMessage]:
    return [mail for mail in mails if "to renew" in mail.subject]


@pytest.mark.parametrize(
    ("days_left", "mails"), [(61, 0), (60, 1), (59, 0), (31, 0), (30, 1), (8, 0), (7, 1), (1, 0), (0, 1), (-1, 0)]
)
def test_a_mail_goes_on_the_day_a_term_is_crossed(
    cast: Cast, mailoutbox: list[EmailMessage], days_left: int, mails: int
) -> None:
    """At 60, 30 and 7 days, and when it runs out; not on the days between."""
    signed(cast, days_left)
    night(cast)
    assert [mail.to for mail in reminders(mailoutbox)] == [[cast.hakim.email]] * mails


def test_it_names_nobody(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Neither child nor food: counts and a link."""
    signed(cast, 7)
    night(cast)
    (mail,) = reminders(mailoutbox)
    said = (mail.subject + mail.body).lower()
    assert "/due/" in said and "1 medical statement at" in said
    assert not [word for word in ("bao", "milk", "kofi", "egg", "sesame") if word in said]


def test_a_second_night_on_one_day_tells_nothing_twice(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Nor does a check after a change."""
    signed(cast, 30)
    for trigger in (Run.Trigger.HAND, Run.Trigger.NIGHT, Run.Trigger.NIGHT, Run.Trigger.CHANGE):
        night(cast, trigger)
    assert len(reminders(mailoutbox)) == 1


@pytest.mark.parametrize(
    ("days_left", "nights_missed", "told"),
    [(58, 2, True), (58, 1, False), (29, 1, True), (5, 3, True), (-2, 3, True), (-2, 1, False), (20, 5, False)],
)
def test_a_missed_night_is_made_up(cast: Cast, days_left: int, nights_missed: int, told: bool) -> None:
    """Whatever was crossed since the last one that told."""
    day = date(2026, 11, 25)
    version = Restriction(review_on=day + timedelta(days=days_left))
    assert crossed(Due(version, Why.LONG, day), day - timedelta(days=nights_missed + 1)) is told


def test_what_has_no_date_is_on_the_list_and_in_no_mail(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Kofi's reports wait for a statement every day."""
    night(cast)
    assert not reminders(mailoutbox)
