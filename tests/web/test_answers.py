"""Whoever asked about a treat is told of the answer, and how long is left stands beside every question."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.checks.answers import answers_since
from compliance.checks.escalation import escalate
from compliance.checks.referrals import answer_referrals
from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral, TreatCheck
from roster.life.allowance import withdraw_allowance
from roster.models import Allowance, Child
from tests.cast import Cast
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

JELLY = "water, sugar, gelatin"


def asked(cast: Cast, text: str = JELLY, minutes: int = 60) -> TreatCheck:
    """Rosa asks about a treat for Larks; unnamed gelatin is referred for Yusuf, who avoids pork, and for Saoirse."""
    served_at = timezone.now() + timedelta(minutes=minutes)
    return check_said(user=cast.rosa, classroom=cast.larks, served_at=served_at, said=Said(text=text, name="Jelly"))


def answer(cast: Cast, child: Child, choice: str = "allow") -> None:
    answer_referrals(
        referrals=Referral.objects.waiting().filter(child=child),
        user=cast.hakim,
        answer=choice,
        note="Spoken with the family about the clinic's letter.",
        ends_on=timezone.localdate() + timedelta(days=30),
        signature="H. Example, RN",
    )


def result(cast: Cast, check: TreatCheck) -> str:
    return words(as_user(cast.rosa).get(reverse("treat-result", args=[check.pk])))


def history(cast: Cast) -> str:
    return words(as_user(cast.rosa).get(reverse("treat-history")))


def test_until_there_is_an_answer_it_waits(cast: Cast) -> None:
    """And the food is not served."""
    check = asked(cast)
    assert "Answered since" not in result(cast, check)
    assert "Waits for an answer of licensed staff; not served to those children meanwhile" in history(cast)


@pytest.mark.parametrize(
    ("choice", "said"), [("keep", "keep it withheld. Do not serve it"), ("allow", "It counts from the next check")]
)
def test_the_asker_is_told(cast: Cast, choice: str, said: str) -> None:
    """What was answered for whom; neither note nor restriction; and to check again before anything is handed out."""
    check = asked(cast)
    answer(cast, cast.yusuf, choice)
    page = soup(as_user(cast.rosa).get(reverse("treat-result", args=[check.pk])))
    block = page.find(id="answered").parent.get_text(" ", strip=True)
    assert "Yusuf" in block and said in " ".join(block.split())
    assert "Check the treat again before anything is handed out" in block
    assert "clinic" not in block and "pork" not in block and "Saoirse" not in block
    assert "Answered since it was asked" in history(cast)


def test_a_check_made_after_the_answer_says_nothing_of_it(cast: Cast) -> None:
    """It has read the answer itself."""
    asked(cast)
    for child in (cast.yusuf, cast.saoirse):
        answer(cast, child)
    label = TreatCheck.objects.get().label
    assert label is not None
    served_at = timezone.now()
    again = check_said(user=cast.rosa, classroom=cast.larks, served_at=served_at, said=Said(product=label.product))
    assert "Answered since" not in result(cast, again)
    assert not answers_since([again])[again.pk].answered


def test_one_open_question_is_enough_to_wait(cast: Cast) -> None:
    """An allowance for one word does not hide that another is still open."""
    check = asked(cast, text="water, sugar, gelatin, zanthopyl")
    first = Referral.objects.waiting().filter(child=cast.yusuf).first()
    assert first is not None
    answer_referrals(
        referrals=[first],
        user=cast.hakim,
        answer="allow",
        note="",
        ends_on=timezone.localdate() + timedelta(days=30),
        signature="H. Example, RN",
    )
    assert "one question is answered, another still waits. Do not serve it" in result(cast, check)


def test_the_queries_do_not_grow_with_the_checks(cast: Cast) -> None:
    """Two for the whole page, whatever stands on it."""
    rosa = as_user(cast.rosa)
    asked(cast)
    small = queries(lambda: rosa.get(reverse("treat-history")))
    for _ in range(8):
        asked(cast)
    assert queries(lambda: rosa.get(reverse("treat-history"))) == small


def referrals(cast: Cast) -> str:
    return words(as_user(cast.hakim).get(reverse("referrals")))


def test_how_long_is_left_stands_beside_the_question(cast: Cast) -> None:
    """With the hour, where there is one."""
    check = asked(cast, minutes=125)
    here: datetime = check.served_at.astimezone(cast.ferrowick.zone)
    page = " ".join(referrals(cast).replace("\xa0", " ").split())
    assert f"{here:%Y-%m-%d}, {here:%H:%M} : 2 hours left" in page
    assert "Until you answer, the food is not served to the children named" in page


def test_after_the_serving_it_stays_and_is_marked(cast: Cast) -> None:
    """Nobody answered: the child was not to be served, and the next time the same is asked."""
    check = asked(cast)
    gone = {"needed_at": check.served_at - timedelta(hours=3)}
    Referral.objects.waiting().update(**gone)
    page = referrals(cast)
    assert "Passed unanswered" in page and "was not to be served to the children named" in page
    assert "No question waits for you but those that passed unanswered" in page
    about = Referral.objects.waiting().first()
    assert about is not None
    one = words(as_user(cast.hakim).get(reverse("referral", args=[about.pk])))
    assert "passed unanswered , and the child was not to be served" in one
    answer(cast, about.child)  # it can still be answered


def test_who_was_told_by_mail_is_shown(cast: Cast) -> None:
    """So that two do not run after the same."""
    asked(cast)
    assert "told by mail" not in referrals(cast)
    escalate(cast.ferrowick, timezone.now())
    assert "told by mail: licensed staff of the site" in referrals(cast)


def test_a_withdrawn_allowance_is_no_answer_any_more(cast: Cast) -> None:
    """The page must not say that something is allowed which nobody allows now."""
    check = asked(cast)
    answer(cast, cast.yusuf)
    assert "have signed an allowance" in result(cast, check)
    for allowance in Allowance.objects.filter(restriction__child=cast.yusuf):
        withdraw_allowance(
            allowance=allowance, reason="The family wrote.", withdrawn_by=cast.hakim, signature="H. Example, RN"
        )
    assert "have signed an allowance" not in result(cast, check)
    asked(cast)
    assert Referral.objects.waiting().filter(child=cast.yusuf).exists()
