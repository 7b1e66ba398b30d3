"""The digest: who gets it, what it says, and that no mail trouble touches a check."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.mail import EmailMessage
from django.utils import timezone

from compliance.checks.digest import LATE, send_for, send_late
from compliance.checks.news import News
from compliance.checks.night import check_and_tell, check_and_tell_all
from compliance.checks.run import check_site
from compliance.checks.sending import send_due
from compliance.models import OutgoingMail, Run
from compliance.rules.values import Outcome
from menus.services.labels import record_label
from roster.models import Role, User
from tests.cast import Cast
from tests.compliance.checks.bulk.plainly import Known, Met, news_between
from tests.factories import PostFactory, RestrictionFactory, ReviewFactory, StatementFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def addresses(cast: Cast) -> None:
    """Everybody but Pavel has an address of the school."""
    for user in User.objects.exclude(username="pavel"):
        user.email = f"{user.username}@school.example"
        user.save()


def check(cast: Cast) -> Run:
    """Run the nightly check of Ferrowick, and send what it brings."""
    run = check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    send_due(timezone.now())
    return run


def test_goes_to_those_responsible_for_the_site(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Administrator, nurse and this site's cook; no teacher, no cook of another site, nobody without a post."""
    run = check(cast)
    assert run.told_at
    responsible = {f"{name}@school.example" for name in ("june", "hakim", "tomas", "greta")}
    assert {mail.to[0] for mail in mailoutbox} == responsible


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
    assert run.counts["digest"] == {"changed": 0, "gone": 0, "ahead": 0} and run.told_at


def test_a_new_label_on_days_checked_before_is_in_the_subject(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """The rice now names milk and sesame: Anneke and Kofi meet it."""
    check(cast)
    mailoutbox.clear()
    record_label(product=cast.larder.rice, ingredients="rice, milk powder, sesame", seen_on=timezone.localdate())

    run = check(cast)

    assert run.counts["digest"]["changed"] == 2
    assert {mail.subject for mail in mailoutbox} == {"Ferrowick Elementary School: 2 new in what was checked before"}


def test_a_night_of_several_sites_is_one_mail_a_person(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """June and Hakim, who are there for both, get one; Greta and Pavel hear of their own kitchens alone."""
    checked = check_and_tell_all([cast.ferrowick, cast.tansy_gate], Run.Trigger.NIGHT)
    assert send_for(checked.runs) == 5
    send_due(timezone.now())
    told = {mail.to[0].partition("@")[0]: mail for mail in mailoutbox}
    assert len(mailoutbox) == len(told) == 5
    found = [News(**run.counts["digest"]).ahead for run in checked.runs]
    assert told["hakim"].subject == f"2 sites: {sum(found)} on days ahead"
    for place in ("Ferrowick Elementary School", "Tansy Gate Daycare", "/referrals/"):
        assert place in told["hakim"].body
    assert "Tansy Gate" not in told["greta"].body and told["greta"].subject.startswith("Ferrowick")


def test_who_has_another_role_elsewhere_is_led_to_both_pages(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """Greta cooks at Ferrowick, and is licensed at Tansy Gate."""
    PostFactory(user=cast.greta, role=Role.LICENSED, site=cast.tansy_gate, classroom=None)
    send_for(check_and_tell_all([cast.ferrowick, cast.tansy_gate], Run.Trigger.NIGHT).runs)
    send_due(timezone.now())
    (mail,) = [mail for mail in mailoutbox if mail.to == ["greta@school.example"]]
    assert "/referrals/" in mail.body and "/cycle/check/" in mail.body and "/exceptions/" not in mail.body


def test_a_check_is_told_once(cast: Cast) -> None:
    """Whoever closes a night twice, or asks for it again."""
    runs = check_and_tell_all([cast.ferrowick, cast.tansy_gate], Run.Trigger.NIGHT).runs
    assert (send_for(runs), send_for(runs), send_for(runs[:1])) == (5, 0, 0)
    assert OutgoingMail.objects.count() == 5


def test_what_nobody_told_is_told_late(cast: Cast) -> None:
    """The process died after the check."""
    run = check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    now = timezone.now()
    assert (send_late(now), send_late(now + LATE), send_late(now + LATE)) == (0, 4, 0)
    run.refresh_from_db()
    assert run.told_at and OutgoingMail.objects.get(to=cast.june).run == run


def test_reminders_come_with_the_digest(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """One mail for Hakim; who does not renew statements hears nothing of them."""
    today = timezone.localdate()
    statement = StatementFactory(child=cast.bao, review_on=today, signed_on=today - timedelta(days=300))
    review = ReviewFactory(statement=statement)
    RestrictionFactory(child=cast.bao, substance="milk", statement=statement, review=review, review_on=today)
    check(cast)
    told = {mail.to[0].partition("@")[0]: mail for mail in mailoutbox}
    assert len(mailoutbox) == 4 and "; statements to renew" in told["hakim"].subject
    assert "1 medical statement at Ferrowick" in told["hakim"].body and "/due/" in told["hakim"].body
    assert "renew" not in told["june"].subject and "/due/" not in told["june"].body


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
    assert news_between(before, after) == News(changed=1, gone=2, ahead=1)


def test_dishes_that_wait_for_one_answer_are_one_news() -> None:
    """Five dishes of a known day: one. A further day with the same question: none. The answer: one gone."""
    monday, tuesday = date(2026, 9, 7), date(2026, 9, 8)

    def waits(serving: int, day: date, word: str = "natural flavor") -> Met:
        return Met(serving, day, 1, "mustard", Outcome.REFER, (f"may-derive:mustard:{word}",))

    nothing = Known(frozenset(), frozenset({monday}))
    five = Known(frozenset(waits(n, monday) for n in range(5)), frozenset({monday}))
    ahead = Known(five.met | {waits(6, tuesday)}, frozenset({monday, tuesday}))
    other = Known(ahead.met | {waits(7, tuesday, "spice")}, ahead.days)
    assert news_between(nothing, five) == News(changed=1)
    assert news_between(five, ahead) == News()
    assert news_between(five, other) == News(ahead=1)
    assert news_between(five, nothing) == News(gone=1)


def test_a_further_dish_on_a_known_day_is_news_all_the_same() -> None:
    """The question is known, the dish is not: whoever cooks it today has to hear of it."""
    monday = date(2026, 9, 7)
    first, second = (Met(n, monday, 1, "mustard", Outcome.REFER, ("may-derive:mustard:spice",)) for n in (1, 2))
    days = frozenset({monday})
    assert news_between(Known(frozenset({first}), days), Known(frozenset({first, second}), days)) == News(changed=1)
