"""Escalation: who is told that a question is still open, each step once, and nothing of child or food."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest
from django.core.mail import EmailMessage
from django.utils import timezone

from compliance.checks.escalation import PAUSE, escalate
from compliance.checks.run import check_site
from compliance.checks.sending import send_due
from compliance.checks.treatfood import Said, check_said
from compliance.models import Escalation, Referral
from compliance.tasks import escalate_referrals
from roster.models import Action, Role, User
from tests.cast import Cast
from tests.factories import PostFactory, ServingFactory, cooked, labelled

pytestmark = pytest.mark.django_db


@pytest.fixture
def morning(cast: Cast) -> datetime:
    """Yusuf meets a jelly of unnamed gelatin in three days; the morning by which that has to be answered."""
    day = timezone.now().astimezone(cast.ferrowick.zone).date() + timedelta(days=3)
    ServingFactory(
        site=cast.ferrowick, recipe=cooked("Jelly", labelled("water, sugar, gelatin", name="Jelly")), date=day
    )
    check_site(site=cast.ferrowick, trigger="hand")
    Referral.objects.exclude(child=cast.yusuf).update(withdrawn_at=timezone.now())
    assert Referral.objects.waiting().get().needed_by == day
    return datetime.combine(day, time(7), cast.ferrowick.zone)


def steps(cast: Cast, now: datetime) -> list[str]:
    taken = [each.step for each in escalate(cast.ferrowick, now)]
    send_due(timezone.now())
    return taken


@pytest.mark.parametrize(("hours", "told"), [(25, []), (24, ["licensed"]), (5, ["licensed"]), (-30, ["licensed"])])
def test_licensed_staff_are_told_a_day_before(cast: Cast, morning: datetime, hours: int, told: list[str]) -> None:
    """Not before; and still after it has passed, since it goes on waiting."""
    assert steps(cast, morning - timedelta(hours=hours)) == told


def test_then_the_administrator_each_step_once(cast: Cast, morning: datetime, mailoutbox: list[EmailMessage]) -> None:
    """A sweep every ten minutes mails nobody twice."""
    assert steps(cast, morning - timedelta(hours=24)) == ["licensed"]
    assert steps(cast, morning - timedelta(hours=5)) == []
    assert steps(cast, morning - timedelta(hours=4)) == ["administrator"]
    assert steps(cast, morning) == []
    assert [mail.to for mail in mailoutbox] == [[cast.hakim.email], [cast.june.email]]


def test_a_mail_names_neither_child_nor_food(cast: Cast, morning: datetime, mailoutbox: list[EmailMessage]) -> None:
    """It travels and is forwarded: that a question is open, by when, and where."""
    steps(cast, morning - timedelta(hours=24))
    (mail,) = mailoutbox
    assert mail.subject == "Ferrowick Elementary School: a question is open"
    assert f"by {morning:%Y-%m-%d} 07:00" in mail.body and "/referrals/" in mail.body
    assert "the food is not served to the child" in mail.body
    for secret in ("Yusuf", "pork", "gelatin", "Jelly", "religious"):
        assert secret.lower() not in (mail.subject + mail.body).lower()


def test_each_step_is_on_record(cast: Cast, morning: datetime) -> None:
    """Which questions, which step, how many people; nobody did it."""
    steps(cast, morning - timedelta(hours=24))
    referral = Referral.objects.waiting().get()
    kept = Escalation.objects.get()
    assert (kept.referral, kept.step, kept.told) == (referral, "licensed", 1)
    entry = Action.objects.filter(verb="asked").latest("pk")
    assert (entry.actor, entry.site) == (None, cast.ferrowick)
    assert '"licensed"' in entry.payload and str(referral.pk) in entry.payload


@pytest.mark.parametrize("gone", [{"answered_at": timezone.now()}, {"withdrawn_at": timezone.now()}])
def test_what_is_settled_is_not_escalated(cast: Cast, morning: datetime, gone: dict[str, datetime]) -> None:
    """Answered, or fallen away."""
    Referral.objects.update(**gone)
    assert steps(cast, morning) == []


def test_a_site_without_licensed_staff_goes_to_the_administrator_at_once(
    cast: Cast, morning: datetime, mailoutbox: list[EmailMessage]
) -> None:
    """Nobody can be reached, and nobody would ever answer."""
    User.objects.filter(pk=cast.hakim.pk).update(email="")
    assert steps(cast, morning - timedelta(hours=24)) == ["licensed", "administrator"]
    assert [mail.to for mail in mailoutbox] == [[cast.june.email]]
    assert Escalation.objects.get(step="licensed").told == 0


def test_several_questions_make_one_mail(cast: Cast, morning: datetime, mailoutbox: list[EmailMessage]) -> None:
    """One for each person, whatever the number."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Cake", labelled("sugar, zanthopyl")), date=morning.date())
    check_site(site=cast.ferrowick, trigger="hand")
    assert len(set(steps(cast, morning - timedelta(hours=24)))) == 1
    (mail,) = mailoutbox
    assert "2 questions are open" in mail.subject


def test_licensed_staff_of_other_sites_hear_nothing(
    cast: Cast, morning: datetime, mailoutbox: list[EmailMessage]
) -> None:
    """Every licensed person of the site, and nobody else."""
    here = PostFactory(role=Role.LICENSED, site=cast.ferrowick).user
    PostFactory(role=Role.LICENSED, site=cast.tansy_gate)
    steps(cast, morning - timedelta(hours=24))
    assert {mail.to[0] for mail in mailoutbox} == {cast.hakim.email, here.email}


def test_a_treat_is_escalated_at_once_and_leaves_licensed_staff_a_pause(
    cast: Cast, mailoutbox: list[EmailMessage]
) -> None:
    """It is asked about minutes before it is handed out."""
    now = timezone.now()
    served_at = now + timedelta(minutes=10)
    check_said(user=cast.rosa, classroom=cast.larks, served_at=served_at, said=Said(no_label=True))
    assert {each.needed_at for each in Referral.objects.waiting()} == {served_at}
    assert set(steps(cast, now)) == {"licensed"}
    assert set(steps(cast, now + timedelta(minutes=5))) == set()
    assert set(steps(cast, now + PAUSE + timedelta(minutes=1))) == {"administrator"}
    assert [mail.to for mail in mailoutbox] == [[cast.hakim.email], [cast.june.email]]


def test_the_task_goes_over_every_site(cast: Cast) -> None:
    """The door from the queue."""
    check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    escalate_referrals()
    assert Escalation.objects.filter(referral__site=cast.ferrowick).exists()


def test_a_treat_today_brings_forward_what_the_menu_needs_later(cast: Cast, morning: datetime) -> None:
    """Else nobody would be told in time."""
    label = Referral.objects.waiting().get().label
    assert label is not None
    later = Referral.objects.waiting().get()
    now = timezone.now()
    check_said(user=cast.rosa, classroom=cast.larks, served_at=now, said=Said(product=label.product))
    later.refresh_from_db()
    assert (later.needed_by, later.needed_at) == (now.astimezone(cast.ferrowick.zone).date(), now)
