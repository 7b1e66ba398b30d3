"""What families keep: meat and milk apart within a meal, and Fridays of Lent without meat."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.referrals import answer_referrals
from compliance.checks.run import recompute
from compliance.models import Referral
from menus.models import Meal
from roster.kinds.kind import restriction_kinds
from roster.life.report import Said, report
from roster.models import Allowance, Child, Role
from tests.factories import PostFactory, cooked, labelled
from tests.scenarios.stage import NONE_FOUND, Stage, at_treat, gravest
from tests.web.pages import as_user, soup

pytestmark = pytest.mark.django_db

TURKEY, CHEESE = "turkey breast, water, salt", "cultured milk, salt, enzymes"


def kept_apart(stage: Stage) -> Child:
    """A child whose family reports what the kind fills in, without a tick taken away."""
    child = stage.child()
    kind = restriction_kinds()["kosher"]
    said = Said(kind=kind, substances=kind.substances, strictness=kind.strictness, told=kind.told)
    report(child=child, said=said, reported_by=stage.teacher)
    return child


def test_s48_meat_with_cheese_in_one_dish() -> None:
    """S48. Basis: guidance to schools on faith diets (read). Turkey and cheese are each had; the wrap is withheld."""
    stage = Stage.set()
    child = kept_apart(stage)
    turkey, cheese = labelled(TURKEY, name="Turkey"), labelled(CHEESE, name="Cheese")
    wrap, plain = labelled("corn flour, water", name="Wrap"), labelled("corn", name="Corn")
    stage.serve(cooked("Turkey wrap", turkey, cheese, wrap))
    stage.serve(cooked("Corn", plain), meal=Meal.BREAKFAST)
    stage.serve(cooked("Cheese plate", cheese), meal=Meal.SNACK)
    stage.check()
    assert stage.met(days=0) == {(child.pk, "Turkey wrap", "meat-with-milk", "withhold")}


def test_s48_meat_and_milk_in_two_dishes_of_one_meal() -> None:
    """S48. Basis: guidance to schools on faith diets (read). Each names the other dish and waits for an answer."""
    stage = Stage.set()
    child = kept_apart(stage)
    stage.serve(cooked("Sliced turkey", labelled(TURKEY, name="Turkey")))
    stage.serve(cooked("Cup of yogurt", labelled(CHEESE, name="Yogurt")))
    run = stage.check()
    assert stage.met(days=0) == {
        (child.pk, "Sliced turkey", "meat-with-milk", "refer"),
        (child.pk, "Cup of yogurt", "meat-with-milk", "refer"),
    }
    rows = find_exceptions(None, ExceptionFilter(stage.today, stage.today, site=stage.site))
    said = {row.dish: row.main_reason.sentence for row in rows}
    assert "“Cup of yogurt” holds milk" in said["Sliced turkey"]
    assert "“Sliced turkey” holds meat or poultry" in said["Cup of yogurt"]
    assert all("Do not serve both at one meal" in sentence for sentence in said.values())
    assert Referral.objects.waiting().filter(child=child).count() == 2
    assert recompute(run) == run.result_hash


def test_s48_licensed_staff_allow_one_of_the_two_and_never_both() -> None:
    """S48. Basis: design. With the yogurt allowed beside meat, the turkey stays referred and cannot be allowed too."""
    stage = Stage.set()
    nurse = PostFactory(role=Role.LICENSED, site=stage.site).user
    child = kept_apart(stage)
    stage.serve(cooked("Sliced turkey", labelled(TURKEY, name="Turkey")))
    stage.serve(cooked("Cup of yogurt", labelled(CHEESE, name="Yogurt")))
    stage.check()

    def answer(food: str) -> None:
        answer_referrals(
            referrals=Referral.objects.waiting().filter(child=child, food=food),
            user=nurse,
            answer="allow",
            note="The family chose milk.",
            ends_on=stage.today + timedelta(days=30),
            signature="A. Example, RN",
        )

    yogurt = Referral.objects.waiting().get(food="Yogurt")
    assert "None of what is named beside it may be served then" in yogurt.question
    page = as_user(nurse).get(f"/referrals/{yogurt.pk}/")
    assert [mark.get_text() for mark in soup(page).select(".label-text mark")] == ["cultured milk"]
    answer("Yogurt")
    stage.check()
    assert stage.met(days=0) == {(child.pk, "Sliced turkey", "meat-with-milk", "refer")}
    with pytest.raises(ValidationError, match="Yogurt is allowed at such a meal already"):
        answer("Turkey")
    assert Allowance.objects.count() == 1


def test_s48_does_not_reach_to_other_meals_children_or_sites() -> None:
    """S48. Basis: design. The same two dishes at two meals; and a child who keeps nothing apart."""
    stage, elsewhere = Stage.set(), Stage.set()
    kept_apart(stage)
    elsewhere.child("peanut")
    turkey, yogurt = cooked("Sliced turkey", labelled(TURKEY)), cooked("Cup of yogurt", labelled(CHEESE))
    stage.serve(turkey, meal=Meal.LUNCH)
    stage.serve(yogurt, meal=Meal.SNACK)
    for dish in (turkey, yogurt):
        elsewhere.serve(dish)
    for each in (stage, elsewhere):
        each.check()
        assert each.met(days=0) == set()


def test_s48_at_a_treat() -> None:
    """S48. Basis: guidance to schools on faith diets (read). A treat is judged by itself, what it holds together."""
    stage = Stage.set()
    child = kept_apart(stage)
    both = labelled("turkey, cheddar cheese (cultured milk, salt), water").labels.get()
    for label, outcome in ((both, "withhold"), (labelled(CHEESE).labels.get(), NONE_FOUND)):
        assert at_treat(stage.treat(label), child) == outcome


ASH_WEDNESDAY, GOOD_FRIDAY = date(2027, 2, 10), date(2027, 3, 26)
"""Easter Sunday of 2027 is 28 March. Source: US Naval Observatory, Dates of Ash Wednesday and Easter; from memory."""


@pytest.mark.parametrize(
    ("day", "outcome"),
    [
        (ASH_WEDNESDAY, "withhold"),
        (ASH_WEDNESDAY + timedelta(days=1), NONE_FOUND),
        (ASH_WEDNESDAY + timedelta(days=2), "withhold"),
        (ASH_WEDNESDAY - timedelta(days=5), NONE_FOUND),
        (GOOD_FRIDAY, "withhold"),
        (GOOD_FRIDAY + timedelta(days=7), NONE_FOUND),
    ],
)
def test_s50_meat_on_a_friday_of_lent(day: date, outcome: str) -> None:
    """S50. Basis: the church calendar (read in part). On those days only, and only for whose family keeps it."""
    stage = Stage.set()
    child, other = stage.child(), stage.child()
    for each in (child, other):
        each.enrolments.update(starts_on=date(2026, 8, 1))
    kind = restriction_kinds()["lent"]
    said = Said(kind=kind, substances=["meat", "poultry"], strictness=kind.strictness, days="lent-fridays")
    report(child=child, said=said, reported_by=stage.teacher)
    stage.serve(cooked("Beef stew", labelled("beef, water, salt")), day)
    stage.check(first_day=day, days=1)
    rows = find_exceptions(None, ExceptionFilter(day, day, site=stage.site))
    assert {row.child for row in rows} <= {child}
    assert gravest(row.outcome.code for row in rows) == outcome
