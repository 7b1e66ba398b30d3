"""Referrals: asked once, answered with a signature, and answered narrowly."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.recordintake import take_in
from compliance.checks.referrals import answer_referrals
from compliance.checks.run import check_site
from compliance.checks.treat import check_treat
from compliance.models import Referral, Run
from menus.models import Product
from menus.services.labels import record_label
from roster.fhir.take import planned, receive
from roster.life.allowance import withdraw_allowance
from roster.models import Allowance, Child, Role
from tests.cast import Cast
from tests.factories import EnrolmentFactory, PostFactory, RestrictionFactory, ServingFactory, cooked, labelled
from tests.roster.fhir.entries import bundle, entry, patient

SIGNATURE = "Hakim, RN"


def asked() -> ExceptionFilter:
    day = timezone.now().date()
    return ExceptionFilter(day, day)


@pytest.fixture
def fries(cast: Cast) -> Cast:
    """Fries in soybean oil for lunch, and Bao may not have soy."""
    RestrictionFactory(child=cast.bao, substance="soy")
    recipe = cooked("Fries", labelled("potatoes, soybean oil, salt", name="Potato fries"))
    ServingFactory(site=cast.ferrowick, recipe=recipe)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    return cast


def answer(cast: Cast, *, days: int = 30, choice: str = "allow", signature: str = SIGNATURE) -> list[Referral]:
    return answer_referrals(
        referrals=Referral.objects.waiting(),
        user=cast.hakim,
        answer=choice,
        note="",
        ends_on=timezone.now().date() + timedelta(days=days),
        signature=signature,
    )


def bao_rows(cast: Cast) -> list[str]:
    return [row.outcome.code for row in find_exceptions(None, asked()) if row.child == cast.bao]


def test_refined_oil_is_asked_once(fries: Cast) -> None:
    """One question for the child and the oil, however often the night runs."""
    check_site(site=fries.ferrowick, trigger=Run.Trigger.NIGHT)
    referral = Referral.objects.get()
    assert (referral.child, referral.substance, referral.kind) == (fries.bao, "soy", "refined-oil")
    assert referral.words == "soybean oil"
    assert referral.needed_by == timezone.now().date()


def test_allowed_oil_is_no_exception_any_more(fries: Cast) -> None:
    """The signed answer becomes an allowance, and the next run honours it."""
    assert bao_rows(fries) == ["refer"]
    answer(fries)
    allowance = Allowance.objects.get()
    assert (allowance.child, allowance.kind, allowance.signature) == (fries.bao, "refined-oil", SIGNATURE)
    check_site(site=fries.ferrowick, trigger=Run.Trigger.CHANGE)
    assert bao_rows(fries) == []


def test_kept_answer_still_withholds_and_is_not_asked_again(fries: Cast) -> None:
    """“Keep withholding” leaves the exception and closes the question."""
    answer(fries, choice="keep")
    check_site(site=fries.ferrowick, trigger=Run.Trigger.CHANGE)
    assert bao_rows(fries) == ["refer"]
    assert not Referral.objects.waiting().exists()


def test_no_label_cannot_be_allowed(cast: Cast) -> None:
    """There is nothing to allow it against."""
    ServingFactory(site=cast.ferrowick)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    with pytest.raises(ValidationError, match="no label is on record"):
        answer(cast)
    assert Allowance.objects.count() == 0


def test_allowance_dies_with_the_label(cast: Cast) -> None:
    """An unread word allowed on one version is asked about again on the next."""
    product = labelled("rice, zorblax", name="Puffs")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Puffs", product))
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    answer(cast)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert "Puffs" not in {row.dish for row in find_exceptions(None, asked())}
    record_label(product=product, ingredients="rice, zorblax, salt", seen_on=timezone.now().date())
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert "Puffs" in {row.dish for row in find_exceptions(None, asked())}
    assert Referral.objects.waiting().exists()


def test_question_falls_away_with_its_label(fries: Cast) -> None:
    """Another oil on the next label: nobody has to answer for the old one, and an answer to it is refused."""
    asked_before = Referral.objects.get()
    product = Product.objects.get(name="Potato fries")
    record_label(product=product, ingredients="potatoes, canola oil, salt", seen_on=timezone.now().date())
    check_site(site=fries.ferrowick, trigger=Run.Trigger.CHANGE)
    assert not Referral.objects.waiting().exists()
    with pytest.raises(ValidationError, match="fallen away"):
        answer_referrals(
            referrals=[asked_before],
            user=fries.hakim,
            answer="keep",
            note="",
            ends_on=timezone.now().date(),
            signature=SIGNATURE,
        )


def test_question_comes_back_with_the_oil(fries: Cast) -> None:
    """A question that fell away is asked anew when its reason returns."""
    product = Product.objects.get(name="Potato fries")
    for oil in ("canola oil", "soybean oil"):
        record_label(product=product, ingredients=f"potatoes, {oil}, salt", seen_on=timezone.now().date())
        check_site(site=fries.ferrowick, trigger=Run.Trigger.CHANGE)
    assert Referral.objects.waiting().count() == 1
    assert Referral.objects.count() == 2


def test_teachers_question_outlives_the_night(cast: Cast) -> None:
    """What a teacher asked about a treat is not on any menu, and still waits after a run."""
    check_treat(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), source="no-label", food="Cupcakes")
    check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    assert Referral.objects.waiting().filter(food="Cupcakes", child=cast.noor).exists()


def test_only_licensed_staff_answer(fries: Cast) -> None:
    """A cook, a teacher and an administrator are refused, and nothing changes."""
    for user in (fries.greta, fries.rosa, fries.june):
        with pytest.raises(PermissionDenied):
            answer_referrals(
                referrals=Referral.objects.waiting(),
                user=user,
                answer="allow",
                note="",
                ends_on=timezone.now().date(),
                signature="x",
            )
    assert Referral.objects.waiting().count() == 1


@pytest.mark.parametrize(
    ("change", "message"),
    [({"signature": "  "}, "signed"), ({"days": -1}, "ended already"), ({"choice": "maybe"}, "Choose an answer")],
)
def test_an_answer_is_whole_or_refused(fries: Cast, change: dict[str, object], message: str) -> None:
    """Unsigned, ended or unclear answers are refused with what to do."""
    with pytest.raises(ValidationError, match=message):
        answer(fries, **change)  # type: ignore[arg-type]
    assert Referral.objects.waiting().count() == 1


def test_answered_twice_is_refused(fries: Cast) -> None:
    """Two people at once: the second is told who answered."""
    referral = Referral.objects.get()
    answer(fries)
    with pytest.raises(ValidationError, match="was answered by"):
        answer_referrals(
            referrals=[referral],
            user=fries.hakim,
            answer="keep",
            note="",
            ends_on=timezone.now().date(),
            signature=SIGNATURE,
        )


def test_the_question_names_every_word_that_the_answer_will_cover(cast: Cast) -> None:
    """An allowance covers the label's unread words, so whoever signs has seen them all."""
    recipe = cooked("Stew", labelled("rice, qwyrzel, salt, plibbenfax", name="Stew base"))
    ServingFactory(site=cast.ferrowick, recipe=recipe)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    referral = Referral.objects.get(child=cast.mateo, kind="unread-word")
    assert "qwyrzel" in referral.question and "plibbenfax" in referral.question
    assert set(referral.words.split("; ")) == {"qwyrzel", "plibbenfax"}


def test_a_question_that_somebody_else_opened_this_moment_is_no_failure(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two teachers ask at once: both get their answer, and the nurse one question."""
    monkeypatch.setattr("compliance.checks.referrals._asked_before", lambda keys: ({}, {}))
    for _ in range(2):
        answered = check_treat(
            user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), source="no-label", food="Buns", label=None
        )
        assert answered.result["refer"]
    assert Referral.objects.waiting().filter(child=cast.mateo, food="Buns").count() == 1


def test_a_check_of_other_days_takes_no_question_back(fries: Cast) -> None:
    """It has not looked at the day for which the question stands."""
    ahead = timezone.now().date() + timedelta(days=30)
    check_site(site=fries.ferrowick, trigger=Run.Trigger.HAND, first_day=ahead)
    assert Referral.objects.waiting().count() == 1


def test_what_is_withdrawn_is_asked_anew(fries: Cast) -> None:
    """The answer went with the allowance: the class is told that the question stands on the list, and so it does."""
    answer(fries)
    withdraw_allowance(
        allowance=Allowance.objects.get(), reason="The clinic wrote.", withdrawn_by=fries.hakim, signature=SIGNATURE
    )
    check_site(site=fries.ferrowick, trigger=Run.Trigger.CHANGE)
    assert bao_rows(fries) == ["refer"]
    assert Referral.objects.waiting().get().child == fries.bao


def test_nobody_allows_for_a_child_that_has_left(fries: Cast) -> None:
    """An allowance goes with the child: where it is now others sign. Keeping it withheld does no harm."""
    nurse = PostFactory(role=Role.LICENSED, site=fries.ferrowick, classroom=None).user
    yesterday = timezone.now().date() - timedelta(days=1)
    fries.bao.enrolments.update(ends_on=yesterday)
    EnrolmentFactory(child=fries.bao, classroom=fries.minnows, starts_on=timezone.now().date())
    said = {"user": nurse, "note": "", "ends_on": timezone.now().date(), "signature": SIGNATURE}
    with pytest.raises(ValidationError, match="no longer enrolled at a site of yours"):
        answer_referrals(referrals=Referral.objects.waiting(), answer="allow", **said)
    assert not Allowance.objects.exists()
    answer_referrals(referrals=Referral.objects.waiting(), answer="keep", **said)
    assert not Referral.objects.waiting().exists()


def test_words_of_a_health_record_are_still_asked_about_after_the_night(cast: Cast) -> None:
    """A command brought them, so nobody asked by name; but no dish raised them either, so no run takes them back."""
    cast.bao.source, cast.bao.source_id = "SIS", "1"
    cast.bao.save()
    kept = receive(bundle(patient(cast.bao), entry("Zorblax")), by=None)
    take_in(kept, planned(kept, Child.objects.all()), ticked={}, by=None)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    assert "Zorblax" in Referral.objects.waiting().get(child=cast.bao, substance="").question
