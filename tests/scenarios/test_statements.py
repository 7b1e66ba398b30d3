"""Statements, allowances and questions from the day they come to the day they run out."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.escalation import escalate
from compliance.checks.exceptions import ExceptionFilter, find_lifted
from compliance.models import Referral
from menus.labels.evidence import Kind
from menus.services.labels import record_label
from roster.life.allowance import Standing, allowances_of, withdraw_allowance
from roster.life.due import Why, due
from roster.life.statement import receive_statement, review_statement
from roster.models import Child, Restriction, Role, State, Statement, User
from roster.services import sign_allowance
from tests.factories import PostFactory, cooked, labelled
from tests.scenarios.stage import NONE_FOUND, Stage, at_treat, dish_of
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


def nurse_of(stage: Stage) -> User:
    nurse: User = PostFactory(role=Role.LICENSED, site=stage.site).user
    return nurse


def received(stage: Stage, child: Child, nurse: User, *, days_left: int = 364, **fields: Any) -> Statement:
    """A statement about all that is on record of the child, signed a year before it runs out."""
    return receive_statement(
        child=child,
        received_by=nurse,
        under=Restriction.objects.known(timezone.now()).filter(child=child),
        further={},
        scan=None,
        **{
            "signatory": "P. Example",
            "credential": "prescriber",
            "licence_state": "Illinois",
            "signed_on": stage.today + timedelta(days=days_left - 365),
            "review_on": stage.today + timedelta(days=days_left),
            "program": "nslp",
            "omit": "Milk in every form.",
            "instead": "",
            **fields,
        },
    )


def reviewed(statement: Statement, nurse: User, wanting: str = "") -> None:
    review_statement(
        statement=statement,
        strictness={version: version.strictness for version in statement.restrictions.all()},
        wanting=wanting,
        note="",
        reviewed_by=nurse,
        signature="A. Example, RN",
    )


def test_s69_an_expired_statement_goes_on_protecting() -> None:
    """S69. Basis: common practice, no source. Withheld as before; due for a new one on both pages."""
    stage = Stage.set()
    nurse, child = nurse_of(stage), stage.child("milk", basis="reported")
    reviewed(received(stage, child, nurse, days_left=0), nurse)
    version = Restriction.objects.known(timezone.now()).get(child=child)
    assert version.state_on(stage.today) == State.EXPIRED
    stage.serve(dish_of(labelled("milk, sugar")))
    stage.check()
    assert stage.at_dish(child, "Dish") == "withhold"
    assert [each.why for each in due(Child.objects.all(), stage.today, timezone.now())] == [Why.EXPIRED]
    for address in (f"/children/{child.pk}/", "/due/"):
        page = words(as_user(nurse).get(address))
        assert "oes on protecting" in page and "new statement" in page


def test_s71_a_statement_that_does_not_say_what_to_give_instead() -> None:
    """S71. Source: California Department of Education (read). The clear part holds at once; the rest is asked for."""
    stage = Stage.set()
    nurse, child = nurse_of(stage), stage.child("milk", basis="reported")
    reviewed(received(stage, child, nurse), nurse, wanting="What to give instead of milk.")
    stage.serve(dish_of(labelled("milk, sugar")))
    stage.check()
    assert stage.at_dish(child, "Dish") == "withhold"
    (waiting,) = due(Child.objects.all(), stage.today, timezone.now())
    assert (waiting.why, waiting.version.review and waiting.version.review.wanting) == (
        Why.WANTING,
        "What to give instead of milk.",
    )


def test_s41_an_allowance_says_that_it_applies_and_ends_when_it_is_withdrawn() -> None:
    """S41. Basis: clinical practice on baked milk, from memory. At treat and dish, for as long as it is signed."""
    stage = Stage.set()
    nurse, child = nurse_of(stage), stage.child("milk")
    muffin = labelled("wheat flour, milk, sugar", name="Muffin")
    allowance = sign_allowance(
        restriction=child.restrictions.get(),
        kind=Kind.NAMED,
        about="milk",
        label=muffin.labels.get(),
        starts_on=stage.today,
        ends_on=stage.today + timedelta(days=5),
        signed_by=nurse,
        signature="A. Example, RN",
    )
    stage.serve(cooked("Muffin", muffin))
    stage.check()
    asked = ExceptionFilter(stage.today, stage.today, site=stage.site)
    assert [(row.child, row.dish) for row in find_lifted(None, asked)] == [(child, "Muffin")]
    answer = stage.treat(muffin.labels.get())
    assert at_treat(answer, child) == NONE_FOUND
    assert [each["allowed"] for row in answer["notes"] for each in row["findings"]] == [True]
    withdraw_allowance(
        allowance=allowance, reason="Hives after a muffin.", withdrawn_by=nurse, signature="A. Example, RN"
    )
    stage.check()
    assert find_lifted(None, asked) == []
    assert stage.at_dish(child, "Muffin") == "withhold"
    assert at_treat(stage.treat(muffin.labels.get()), child) == "withhold"


def test_s41_a_new_label_voids_it_and_licensed_staff_see_so() -> None:
    """S41. Basis: design. The next version is another food until somebody has looked at it."""
    stage = Stage.set()
    nurse, child = nurse_of(stage), stage.child("milk")
    muffin = labelled("wheat flour, milk, sugar", name="Muffin")
    sign_allowance(
        restriction=child.restrictions.get(),
        kind=Kind.NAMED,
        about="milk",
        label=muffin.labels.get(),
        starts_on=stage.today,
        ends_on=stage.today + timedelta(days=5),
        signed_by=nurse,
        signature="A. Example, RN",
    )
    record_label(product=muffin, ingredients="wheat flour, milk, sugar, whey", seen_on=stage.today)
    (signed,) = allowances_of(Child.objects.filter(pk=child.pk), stage.today, timezone.now())
    assert signed.standing == Standing.NEW_LABEL
    stage.serve(cooked("Muffin", muffin))
    stage.check()
    assert stage.at_dish(child, "Muffin") == "withhold"
    assert "Allowances that no longer apply: new label" in words(as_user(nurse).get("/due/"))


def test_a_question_that_nobody_answers() -> None:
    """Basis: the list of referrals in the requirements. Told a day before, then the administrator; never served."""
    stage = Stage.set()
    nurse_of(stage)
    boss = PostFactory(role=Role.ADMINISTRATOR, site=stage.site).user
    child = stage.child("peanut")
    day = stage.today + timedelta(days=2)
    stage.serve(cooked("Fries", labelled("potatoes, refined peanut oil, salt")), day)
    stage.check()
    morning = datetime.combine(day, time(7), stage.site.zone)
    for hours, step in ((30, []), (24, ["licensed"]), (20, []), (4, ["administrator"]), (-3, [])):
        assert [each.step for each in escalate(stage.site, morning - timedelta(hours=hours))] == step
    stage.check()
    assert stage.at_dish(child, "Fries") == "refer"
    assert Referral.objects.waiting().filter(child=child).count() == 1
    assert as_user(boss).get("/referrals/").status_code == 404
