"""Choking by age: the cases of grapes, popcorn and birthdays. A notice beside the outcomes, never an outcome."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from django.utils import timezone

from compliance.checks.age import AgeNotice, births_at, serving_notices
from compliance.checks.treat import check_treat
from menus.models import Recipe
from roster.models import User
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    PostFactory,
    RecipeLineFactory,
    RecipeVersionFactory,
    cooked,
    labelled,
)
from tests.scenarios.stage import Stage
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


def enrol(stage: Stage, birth: date | None) -> None:
    EnrolmentFactory(child=ChildFactory(birth_date=birth), classroom=stage.classroom)


def aged(stage: Stage, *years: float, day: date | None = None) -> None:
    """Enrol children who have these ages on the day."""
    for age in years:
        enrol(stage, (day or stage.today) - relativedelta(months=round(age * 12)))


def fruit_salad(note: str) -> Recipe:
    recipe = cooked("Fruit salad")
    version = RecipeVersionFactory(recipe=recipe)
    RecipeLineFactory(version=version, product=labelled("grapes", name="Grapes, red"), note=note)
    RecipeLineFactory(version=version, product=labelled("bananas", name="Bananas"), note="sliced")
    return recipe


def notices(stage: Stage, recipe: Recipe, day: date | None = None) -> list[AgeNotice]:
    day = day or stage.today
    serving = stage.serve(recipe, day)
    return serving_notices([serving], births_at(stage.site, day), day, stage.site)[serving.pk]


def by_age(stage: Stage, food: str, days: int = 0) -> list[tuple[str, int]]:
    check = check_treat(
        user=stage.teacher,
        classroom=stage.classroom,
        served_at=timezone.now() + timedelta(days=days),
        source="no-label",
        food=food,
    )
    return [(row["food"], row["children"]) for row in check.result["by_age"]]


def test_s24_grapes_without_a_form() -> None:
    """S24. Basis: Caring for Our Children 4.5.0.10 (read). Three-year-olds: ask, and quarter; no outcome changes."""
    stage = Stage.set()
    aged(stage, 3, 3.5)
    (notice,) = notices(stage, fruit_salad(""))
    assert (notice.food, notice.advice, notice.children) == ("grapes", "ask", 2)
    assert "quarters" in notice.what and notice.source.startswith("Caring for Our Children")
    stage.check()
    assert stage.met() == set()


def test_s25_grapes_stated_quartered() -> None:
    """S25. Basis: Caring for Our Children 4.5.0.10 (read). The line says how they are cut: no notice.

    The table wants a note shown all the same; here the page's own caution about age says it, and a notice stays a thing
    to act on.
    """
    stage = Stage.set()
    aged(stage, 3)
    assert notices(stage, fruit_salad("quartered lengthwise")) == []
    serving = stage.site.servings.get()
    stage.check()
    page = words(as_user(kitchen_of(stage)).get(f"/servings/{serving.pk}/"))
    assert "For the youngest" not in page
    assert "stay with them while they eat" in page


def test_s26_popcorn_for_a_mixed_table() -> None:
    """S26. Basis: Caring for Our Children 4.5.0.10 (read). Three, four and five at one bowl: the youngest decides."""
    stage = Stage.set()
    aged(stage, 3, 4, 5)
    assert by_age(stage, "Popcorn") == [("popcorn", 1)]
    older = Stage.set()
    aged(older, 4, 5)
    assert by_age(older, "Popcorn") == []


def test_s27_birthday_before_the_meal() -> None:
    """S27. Basis: design. Checked today; on the day of the meal the child is four. And the day before that, is not."""
    stage = Stage.set()
    aged(stage, 4, day=stage.today + timedelta(days=3))
    popcorn = cooked("Popcorn")
    assert [len(notices(stage, popcorn, stage.today + timedelta(days=n))) for n in (0, 2, 3)] == [1, 1, 0]
    assert by_age(stage, "Popcorn") == [("popcorn", 1)]
    assert by_age(stage, "Popcorn", days=3) == []


def test_s28_birth_date_missing() -> None:
    """S28. Basis: design. Among six-year-olds one whose age nobody knows: even the rules for infants are shown."""
    stage = Stage.set()
    aged(stage, 6, 6)
    assert by_age(stage, "Brown rice") == []
    enrol(stage, None)
    assert by_age(stage, "Brown rice") == [("whole cooked grains", 1)]


@pytest.mark.parametrize(("jurisdiction", "found"), [("uk", [("tree nuts", 1)]), ("us", [])])
def test_s29_whole_almonds_at_four_and_a_half(jurisdiction: str, found: list[tuple[str, int]]) -> None:
    """S29. Basis: England DfE early-years guidance (read): no whole nuts under five. The site decides."""
    stage = Stage.set(jurisdiction=jurisdiction)
    aged(stage, 4.5, 6)
    assert by_age(stage, "Whole almonds") == found


def kitchen_of(stage: Stage) -> User:
    user: User = PostFactory(role="kitchen", site=stage.site).user
    return user


def test_notice_is_on_the_page_of_the_treat() -> None:
    """S24 and S26 as the teacher sees them: the food, the ages, what to do, the source."""
    stage = Stage.set()
    aged(stage, 3)
    check = check_treat(
        user=stage.teacher, classroom=stage.classroom, served_at=timezone.now(), source="no-label", food="Popcorn"
    )
    page = words(as_user(stage.teacher).get(f"/treat/{check.pk}/"))
    assert "Popcorn , under 4 years: Do not serve." in page
    assert "Caring for Our Children" in page


def test_notice_is_on_the_page_of_the_day() -> None:
    """S24 as the teacher sees the day's meals; a class of six-year-olds at the same site sees none of it."""
    stage = Stage.set()
    aged(stage, 3)
    older = Stage(stage.site, classroom := ClassroomFactory(site=stage.site), PostFactory(classroom=classroom).user)
    aged(older, 6)
    stage.serve(fruit_salad(""))
    stage.check()
    assert "Grapes , under 4 years" in words(as_user(stage.teacher).get("/today/"))
    assert "under 4 years" not in words(as_user(older.teacher).get("/today/"))
