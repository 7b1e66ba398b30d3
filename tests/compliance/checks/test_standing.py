"""A word that may hide a substance: asked once for a child and that word, answered once, and never more widely."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.lines import lines, with_questions
from compliance.checks.referrals import answer_referrals
from compliance.checks.standing import on_the_plan
from compliance.models import Referral
from compliance.rules.values import Outcome
from menus.models import Product
from menus.services.labels import record_label
from roster.models import Allowance, Child, Restriction, Role, User
from roster.services import record_restriction
from tests.factories import PlanStepFactory, PostFactory, SurfaceFactory, cooked, labelled
from tests.scenarios.stage import NONE_FOUND, Stage, at_treat

pytestmark = pytest.mark.django_db

FLAVOUR = "rice flour, natural flavor, salt"


@pytest.fixture
def stage() -> Stage:
    """One class, one site."""
    return Stage.set()


@pytest.fixture
def nurse(stage: Stage) -> User:
    """Licensed staff of the site."""
    user: User = PostFactory(role=Role.LICENSED, site=stage.site).user
    return user


def serve(stage: Stage, words: str, dish: str = "Dish", days: int = 0, **product: str) -> Product:
    """Put a dish of one product with this label on the plan, and have the site checked."""
    made = labelled(words, **product)
    stage.serve(cooked(dish, made), stage.today + timedelta(days=days))
    stage.check()
    return made


def answer(nurse: User, until: date, choice: str = "allow", **which: object) -> list[Referral]:
    asked = Referral.objects.waiting().filter(**which)
    return answer_referrals(
        referrals=asked, user=nurse, answer=choice, note="", ends_on=until, signature="A. Example, RN"
    )


def met(stage: Stage, child: Child) -> list[ExceptionRow]:
    """The child's exceptions of the coming fortnight."""
    asked = ExceptionFilter(stage.today, stage.today + timedelta(days=13), site=stage.site)
    return [row for row in find_exceptions(None, asked) if row.child == child]


@pytest.mark.parametrize("printed", ["Natural Flavors", "NATURAL FLAVOR", "natural flavours", "naturalflavor"])
def test_however_it_is_printed_it_is_one_question(stage: Stage, nurse: User, printed: str) -> None:
    """Letters, spelling and number make no other word of it, in the question or in the allowance."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR, "Cereal")
    serve(stage, f"corn, {printed}, sugar", "Bar", days=1)
    asked = Referral.objects.get()
    assert (asked.child, asked.term, asked.about) == (child, "natural flavor", ["mustard"])
    assert [row.outcome for row in met(stage, child)] == [Outcome.REFER, Outcome.REFER]
    answer(nurse, stage.today + timedelta(days=30))
    stage.check()
    assert met(stage, child) == []


def test_answered_once_for_whatever_comes(stage: Stage, nurse: User) -> None:
    """A product nobody had seen, and a treat in class: no further question, none found."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR)
    answer(nurse, stage.today + timedelta(days=30))
    new = serve(stage, "water, natural flavors", "Drink", days=2)
    assert stage.at_dish(child, "Drink") == NONE_FOUND
    assert at_treat(stage.treat(new.labels.get()), child) == NONE_FOUND
    assert Referral.objects.count() == 1


def test_a_treat_with_the_same_word_asks_nothing_twice(stage: Stage) -> None:
    """The teacher is told to ask; on the nurse's list it is the question that waits there already."""
    child = stage.child("mustard")
    product = serve(stage, FLAVOUR)
    assert at_treat(stage.treat(product.labels.get()), child) == "refer"
    assert Referral.objects.count() == 1


def test_no_other_word_no_other_substance_no_other_child(stage: Stage, nurse: User) -> None:
    """What is allowed is one child's natural flavor as far as mustard goes."""
    child, other = stage.child("mustard", "celery"), stage.child("mustard")
    serve(stage, FLAVOUR, "Cereal")
    serve(stage, "potatoes, spices", "Fries")
    answer(nurse, stage.today + timedelta(days=30), child=child, substance="mustard", term="natural flavor")
    stage.check()
    left = {(row.dish, row.restriction.substance) for row in met(stage, child)}
    assert left == {("Cereal", "celery"), ("Fries", "celery"), ("Fries", "mustard")}
    assert {row.dish for row in met(stage, other)} == {"Cereal", "Fries"}


def test_more_certain_evidence_of_the_same_substance_still_counts(stage: Stage, nurse: User) -> None:
    """Mustard seed is mustard, whatever was allowed of flavours; and so is “may contain”."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR)
    answer(nurse, stage.today + timedelta(days=30))
    serve(stage, f"{FLAVOUR}, mustard seed", "Dip")
    assert stage.at_dish(child, "Dip") == "withhold"


def test_gluten_is_asked_about_once_for_all_its_cereals(stage: Stage, nurse: User) -> None:
    """A meat label need not name wheat either: one question names both, and one signature makes two allowances."""
    child = stage.child("gluten")
    product = labelled("pork, natural flavor", regulator="fsis")
    stage.serve(cooked("Sausage", product))
    serve(stage, FLAVOUR, "Rice cake")
    asked = Referral.objects.get()
    assert asked.about == ["barley", "wheat"]
    assert "barley" in asked.question and "wheat" in asked.question
    (signed,) = answer(nurse, stage.today + timedelta(days=30))
    assert {each.about for each in signed.allowances.all()} == {"barley", "wheat"}
    stage.check()
    assert met(stage, child) == []


def test_an_answer_does_not_reach_what_the_word_turns_out_to_hold_later(stage: Stage, nurse: User) -> None:
    """Barley was asked about and allowed; the first label on which the word may mean wheat asks about wheat alone."""
    child = stage.child("gluten")
    serve(stage, FLAVOUR, "Rice cake")
    answer(nurse, stage.today + timedelta(days=30))
    serve(stage, "pork, natural flavor", "Sausage", regulator="fsis")
    assert stage.at_dish(child, "Rice cake") == NONE_FOUND
    assert stage.at_dish(child, "Sausage") == "refer"
    assert Referral.objects.waiting().get().about == ["wheat"]


def test_an_open_question_never_grows_under_the_hand_that_signs(stage: Stage, nurse: User) -> None:
    """A wider one takes its place; whoever had the narrower before them is told so."""
    stage.child("gluten")
    serve(stage, FLAVOUR, "Rice cake")
    before = Referral.objects.get()
    serve(stage, "pork, natural flavor", "Sausage", regulator="fsis")
    after = Referral.objects.waiting().get()
    assert (before.about, after.about) == (["barley"], ["barley", "wheat"])
    with pytest.raises(ValidationError, match="fallen away"):
        answer_referrals(
            referrals=[before], user=nurse, answer="allow", note="", ends_on=stage.today, signature="A. Example, RN"
        )


def test_it_is_asked_again_when_the_answer_has_ended(stage: Stage, nurse: User) -> None:
    """Dated: the day after, the dish is referred and the question stands anew."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR, "Cereal")
    answer(nurse, stage.today)
    serve(stage, FLAVOUR, "Muesli", days=1)
    assert stage.at_dish(child, "Cereal") == NONE_FOUND
    assert stage.at_dish(child, "Muesli") == "refer"
    assert Referral.objects.waiting().count() == 1


def test_the_question_falls_away_with_the_word(stage: Stage) -> None:
    """Nobody answers for a word that stands on nothing any more."""
    stage.child("mustard")
    product = serve(stage, FLAVOUR)
    record_label(product=product, ingredients="rice flour, salt", seen_on=stage.today)
    stage.check()
    assert not Referral.objects.waiting().exists()


def test_for_the_ingredient_alone_it_is_a_note(stage: Stage) -> None:
    """No exception, no question."""
    child = stage.child("mustard", strictness="ingredient")
    serve(stage, FLAVOUR)
    assert met(stage, child) == []
    assert not Referral.objects.exists()


def test_one_line_for_all_that_waits_and_no_dish_left_out(stage: Stage, nurse: User) -> None:
    """Ten dishes, one line with ten rows; kept withheld, it says so and they are still not served."""
    child = stage.child("mustard")
    for day in range(10):
        stage.serve(cooked(f"Dish {day}", labelled(FLAVOUR)), stage.today + timedelta(days=day))
    stage.serve(cooked("Satay", labelled("mustard seed")), stage.today)
    stage.check()
    waiting, withheld = lines(sorted(met(stage, child), key=lambda row: row.outcome))
    assert [len(waiting.rows), len(withheld.rows)] == [10, 1]
    answer(nurse, stage.today + timedelta(days=30), choice="keep")
    stage.check()
    (kept,) = [line for line in with_questions(lines(met(stage, child))) if line.first.outcome is Outcome.REFER]
    ((words, referral),) = kept.asked
    assert (words, referral and referral.answer) == ("“natural flavor” and mustard", "keep")
    assert len(kept.rows) == 10
    assert not Referral.objects.waiting().exists()


def test_whoever_answers_sees_where_the_word_stands(stage: Stage) -> None:
    """Products and dishes of the child's own plan; another child's question does not swell it."""
    stage.child("mustard")
    stage.child("celery")
    serve(stage, FLAVOUR, "Cereal", name="Puffs")
    serve(stage, "sugar, natural flavors", "Bun", days=3, name="Icing")
    serve(stage, "potatoes, spices", "Fries", name="Wedges")
    asked = Referral.objects.get(substance="mustard", term="natural flavor")
    plan = on_the_plan(asked, stage.today, stage.today + timedelta(days=13))
    assert (plan.foods, plan.dishes) == (("Icing", "Puffs"), 2)


def test_what_the_pan_passes_on_is_the_same_question(stage: Stage, nurse: User) -> None:
    """The dish that only touched it is no graver than the one that holds it, and the answer covers both."""
    child = stage.child("mustard")
    pan = SurfaceFactory(site=stage.site, name="Pan")
    for hour, (dish, words) in enumerate({"Sauce": FLAVOUR, "Peas": "peas, salt"}.items(), start=9):
        recipe = cooked(dish, labelled(words))
        PlanStepFactory(surface=pan, recipe=recipe, at=time(hour))
        stage.serve(recipe)
    stage.check()
    assert {row.dish: row.outcome for row in met(stage, child)} == {"Sauce": Outcome.REFER, "Peas": Outcome.REFER}
    answer(nurse, stage.today + timedelta(days=30), kind="may-derive")
    stage.check()
    assert met(stage, child) == []


def ended(restriction: Restriction) -> Restriction:
    """The next version of the restriction, which has ended by now."""
    gone = timezone.now().date() - timedelta(days=1)
    return record_restriction(
        child=restriction.child,
        substance=restriction.substance,
        replaces=restriction,
        ends_on=gone,
        end_reason="Outgrown, by the clinic's letter.",
    )


def test_an_allowance_goes_on_with_the_next_version_of_its_restriction(stage: Stage, nurse: User) -> None:
    """A better note is no new restriction."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR)
    answer(nurse, stage.today + timedelta(days=30))
    old = child.restrictions.get()
    record_restriction(child=child, substance="mustard", replaces=old, note="skin, within an hour")
    stage.check()
    assert met(stage, child) == []


@pytest.mark.parametrize("takes_up_again", [False, True])
def test_an_allowance_ends_with_its_restriction(stage: Stage, nurse: User, takes_up_again: bool) -> None:
    """Recorded anew after it had ended, it is a new restriction, however it was written down: asked again."""
    child = stage.child("mustard")
    serve(stage, FLAVOUR)
    answer(nurse, stage.today + timedelta(days=30))
    over = ended(child.restrictions.get())
    stage.check()
    assert met(stage, child) == []
    record_restriction(child=child, substance="mustard", replaces=over if takes_up_again else None)
    stage.check()
    assert [row.outcome for row in met(stage, child)] == [Outcome.REFER]
    assert Referral.objects.waiting().count() == 1
    assert Allowance.objects.count() == 1


def test_every_substance_of_one_label_is_allowed_with_it(stage: Stage, nurse: User) -> None:
    """Two slips of the pen, near cashew and near almond: an answer about the label leaves neither behind unasked."""
    child = stage.child("tree-nut", strictness="ingredient", basis="family")
    serve(stage, "oats, cashaw, almomd", "Bar")
    asked = Referral.objects.waiting().get(kind="near-miss")
    assert asked.about == ["tree-nut.almond", "tree-nut.cashew"]
    answer(nurse, stage.today + timedelta(days=30))
    stage.check()
    assert met(stage, child) == []
