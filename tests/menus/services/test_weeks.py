"""The week of a meal at a site: parts taken apart, credits, questions, nutrients, another dish on trial."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from pytest_django import DjangoAssertNumQueries

from menus.mealpattern.crediting.weekkeys import Beans
from menus.models import Meal, Product, Recipe, Serving, Site, SitePattern
from menus.models.facts import FactChanged
from menus.services.nutrition import record_panel, record_table_food
from menus.services.patterns import set_pattern
from menus.services.recipes import Line, record_recipe
from menus.services.weeks import NotJudged, SiteWeek, judged, judged_week, week_of, with_dish
from tests.factories import ProductFactory, RecipeFactory, ServingFactory, SiteFactory

pytestmark = pytest.mark.django_db

MONDAY = date(2026, 11, 30)


@pytest.fixture
def site() -> Site:
    made = SiteFactory.create()
    set_pattern(site=made, meal=Meal.LUNCH, program="cacfp-lunch", group="3-5", starts_on=date(2026, 8, 1))
    return made


def dish(name: str, *lines: tuple[str | Product | Recipe, str, str], servings: int = 10) -> Recipe:
    """A recipe of products by name (or products, or recipes), quantity and unit."""
    made = RecipeFactory.create(name=name)
    record_recipe(recipe=made, servings=servings, lines=[_line(*line) for line in lines])
    return made


def _line(what: str | Product | Recipe, quantity: str, unit: str) -> Line:
    thing = ProductFactory.create(name=what) if isinstance(what, str) else what
    if isinstance(thing, Recipe):
        return Line(Decimal(quantity), unit, sub_recipe=thing)
    return Line(Decimal(quantity), unit, product=thing)


def on_plan(site: Site, *meals: list[Recipe], meal: Meal = Meal.LUNCH) -> SiteWeek:
    """One list of dishes a day, from Monday on."""
    for number, dishes in enumerate(meals):
        for recipe in dishes:
            ServingFactory.create(site=site, date=MONDAY + timedelta(days=number), recipe=recipe, meal=meal)
    return week_of(site, MONDAY, meal)


def whole_meal() -> list[Recipe]:
    """What a child of three to five is owed at lunch, and no more than that by much."""
    return [
        dish("Beef and rice", ("Ground beef, cooked", "15", "oz"), ("Brown rice, dry", "8", "oz")),
        dish("Broccoli", ("Broccoli, cooked", "2.5", "cup")),
        dish("Applesauce", ("Applesauce", "2.5", "cup")),
        dish("Milk", ("Milk, whole", "7.5", "cup")),
    ]


def rules(answer: dict[str, Any]) -> set[str]:
    return {each["rule"].partition("/")[2] for each in answer["findings"]}


def test_a_whole_meal_meets_its_pattern(site: Site) -> None:
    """The answer of check_week, for dishes of a plan."""
    answer = judged(on_plan(site, whole_meal()))
    assert (answer["program"], answer["group"], answer["date"]) == ("cacfp-lunch", "3-5", "2026-11-30")
    assert answer["findings"] == []


def test_a_day_without_its_grain_is_found_short(site: Site) -> None:
    """The reason is the rule's own."""
    meat = dish("Beef", ("Ground beef, cooked", "15", "oz"))
    answer = judged(on_plan(site, whole_meal(), [meat, *whole_meal()[1:]]))
    assert [(each["rule"], each["day"], each["found"]) for each in answer["findings"]] == [
        ("cacfp-lunch/grains-day", 2, 0)
    ]


def test_parts_of_dishes_are_taken_apart(site: Site) -> None:
    """A base for ten, of which five portions go into a dish for ten; a part of that part likewise."""
    base = dish("Base", ("Tomato sauce", "10", "cup"))
    sauce = dish("Sauce", (base, "5", "serving"), ("Water", "1", "cup"))
    pasta = dish("Pasta", (sauce, "10", "serving"))
    ((_, (plate,)),) = on_plan(site, [pasta]).days
    assert plate.food.credits == {"vegetables.red_orange": Fraction(1, 2)}


def test_a_part_that_is_not_told_in_servings_is_asked(site: Site) -> None:
    """Nobody knows what a quart of a recipe is a share of."""
    base = dish("Base", ("Tomato sauce", "10", "cup"))
    ((_, (plate,)),) = on_plan(site, [dish("Pasta", (base, "1", "qt"))]).days
    assert plate.food.credits == {}
    assert plate.ask == ["Base (a part of the dish)"]


def test_a_dish_without_a_recipe_is_asked_and_states_nothing(site: Site) -> None:
    """Silence credits nothing."""
    ((_, (plate,)),) = on_plan(site, [RecipeFactory.create(name="Soup of the day")]).days
    assert plate.food.credits == {} and plate.food.nutrients == {}
    assert plate.ask == ["Nothing is on record of what goes into it."]


def test_pieces_go_by_what_one_weighs_once_somebody_has_said(site: Site) -> None:
    """Twenty slices are asked for; at 28 g each they are 2 oz eq a child."""
    bread = ProductFactory.create(name="Bread, whole wheat, sliced")
    sandwich = dish("Bread", (bread, "20", "slice"))
    ((_, (before,)),) = on_plan(site, [sandwich]).days
    assert before.ask == ["Bread, whole wheat, sliced"]
    record_panel(
        product=bread, basis_g=Decimal(28), stated={"energy_kcal": Decimal(70)}, measures={"piece_g": Decimal(28)}
    )
    ((_, (after,)),) = week_of(site, MONDAY, Meal.LUNCH).days
    assert after.food.credits == {"grains": 2}
    assert after.food.tags["whole_grain_rich"] is True
    assert after.food.nutrients == {"energy_kcal": 140}
    assert any("28 g credits 1 oz eq" in step for step in after.arithmetic)


def test_nutrients_of_a_part_are_no_total(site: Site) -> None:
    """Milk by the table, jam by nobody: the energy of the dish is not known, and 120 g of 220 state it."""
    milk, jam = ProductFactory.create(name="Milk, 1%"), ProductFactory.create(name="Jelly")
    record_table_food(product=milk, ndb_no="01082")
    shake = dish("Shake", (milk, "1200", "g"), (jam, "1000", "g"))
    ((_, (plate,)),) = on_plan(site, [shake]).days
    assert plate.food.nutrients == {}
    assert plate.stated["energy_kcal"] == Fraction("50.4")
    assert plate.covered["energy_kcal"] == Fraction(120, 220)
    assert plate.missing == ("Jelly",)


def test_the_newest_panel_counts_and_none_is_overwritten() -> None:
    """A correction is a new row."""
    bread = ProductFactory.create()
    first = record_panel(product=bread, basis_g=Decimal(28), stated={"sodium_mg": Decimal(300)})
    record_panel(product=bread, basis_g=Decimal(28), stated={"sodium_mg": Decimal(200)})
    first.sodium_mg = Decimal(1)
    with pytest.raises(FactChanged):
        first.save()
    assert bread.nutrition.count() == 2


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ({"energy_kcal": None}, "states nothing"),
        ({"salt_g": Decimal(1)}, "is none of"),
        ({"energy_kcal": Decimal(-1)}, "greater than or equal to 0"),
    ],
)
def test_a_panel_that_cannot_be_is_refused(stated: dict[str, Decimal | None], says: str) -> None:
    """With what is wrong with it."""
    with pytest.raises(ValidationError, match=says):
        record_panel(product=ProductFactory.create(), basis_g=Decimal(28), stated=stated)


def test_a_number_that_the_table_does_not_hold_is_refused() -> None:
    """Nobody's figures are made up."""
    with pytest.raises(ValidationError, match="not in the table"):
        record_table_food(product=ProductFactory.create(), ndb_no="99999")


def test_beans_change_their_reading_with_the_dish_beside_them(site: Site) -> None:
    """A chili alone is the meal's meat alternate; beside beef on trial it is a vegetable."""
    chili = dish("Chili", ("Black beans, canned, drained", "5", "cup"))
    plain = dish("Broccoli", ("Broccoli, cooked", "2.5", "cup"))
    beef = dish("Beef", ("Ground beef, cooked", "20", "oz"))
    week = on_plan(site, [chili, plain])
    ((_, (bowl, side)),) = week.days
    assert bowl.beans is Beans.ALTERNATE
    tried = with_dish(week, side.serving_id, beef)
    ((_, (bowl, side)),) = tried.days
    assert bowl.beans is Beans.VEGETABLE and bowl.food.credits == {"vegetables.beans_peas_lentils": Fraction(1, 2)}
    assert side.recipe_id == beef.pk
    assert any("count as vegetable" in step for step in bowl.arithmetic)


def test_of_dishes_that_are_one_choice_a_child_takes_one(site: Site) -> None:
    """Rice beside the beef alone: whoever takes the stew goes without a grain. Unmarked, nothing would be missed."""
    stew = dish("Stew", ("Ground beef, cooked", "15", "oz"))
    assert rules(judged(on_plan(site, [*whole_meal(), stew]))) == set()
    Serving.objects.filter(recipe__name__in=("Beef and rice", "Stew")).update(choice="Main dish")
    answer = judged_week(site, MONDAY, Meal.LUNCH)
    assert [(each["rule"], each["found"], each["by_choice"]) for each in answer["findings"]] == [
        ("cacfp-lunch/grains-day", 0, [0, 0.75])
    ]


def test_a_dish_on_trial_is_the_choice_that_it_stands_for(site: Site) -> None:
    """Its mark is that of the place."""
    stew = dish("Stew", ("Ground beef, cooked", "15", "oz"))
    week = on_plan(site, [*whole_meal(), stew])
    Serving.objects.filter(recipe__name__in=("Beef and rice", "Stew")).update(choice="Main dish")
    week = week_of(site, MONDAY, Meal.LUNCH)
    pasta = dish("Beef pasta", ("Ground beef, cooked", "15", "oz"), ("Brown rice, dry", "8", "oz"))
    serving = next(plate.serving_id for plate in week.days[0][1] if plate.name == "Stew")
    tried = with_dish(week, serving, pasta)
    assert [plate.choice for plate in tried.days[0][1] if plate.recipe_id == pasta.pk] == ["Main dish"]
    assert rules(judged(tried)) == set()


def test_beans_are_the_meat_alternate_of_whoever_takes_them(site: Site) -> None:
    """Chili or beef: the chili is read without the beef beside it. Not chosen between, it is a vegetable."""
    chili = dish("Chili", ("Black beans, canned, drained", "5", "cup"))
    beef = dish("Beef", ("Ground beef, cooked", "20", "oz"))
    assert [plate.beans for _, plates in on_plan(site, [chili, beef]).days for plate in plates] == [
        Beans.VEGETABLE,
        None,
    ]
    Serving.objects.update(choice="main dish")
    assert [plate.beans for _, plates in week_of(site, MONDAY, Meal.LUNCH).days for plate in plates] == [
        Beans.ALTERNATE,
        None,
    ]


def test_a_dish_on_trial_is_not_written(site: Site) -> None:
    """And leaves the week it was tried in as it was."""
    week = on_plan(site, whole_meal(), whole_meal())
    serving = week.days[0][1][0].serving_id
    before = judged(week)
    tried = with_dish(week, serving, dish("Broth", ("Chicken broth", "1", "gal")))
    assert rules(judged(tried)) == {"meat-alternate-day", "grains-day"}
    assert judged(week) == before == judged_week(site, MONDAY, Meal.LUNCH)
    assert Serving.objects.get(pk=serving).recipe.name == "Beef and rice"
    with pytest.raises(KeyError):
        with_dish(week, 0, RecipeFactory.create())


def test_other_meals_sites_weeks_and_withdrawn_dishes_are_left_out(site: Site) -> None:
    """Only what stands on this plan."""
    week = on_plan(site, whole_meal())
    supper = dish("Soup", ("Broccoli, cooked", "2", "cup"))
    for other in (
        {"site": site, "date": MONDAY, "meal": Meal.SUPPER},
        {"site": SiteFactory.create(), "date": MONDAY},
        {"site": site, "date": MONDAY + timedelta(days=7)},
        {"site": site, "date": MONDAY, "withdrawn_at": "2026-11-29T10:00Z"},
    ):
        ServingFactory.create(recipe=supper, **other)
    again = week_of(site, MONDAY, Meal.LUNCH)
    assert [(day, len(plates)) for day, plates in again.days] == [(day, len(plates)) for day, plates in week.days]


def test_a_week_that_cannot_be_judged_says_why() -> None:
    """No pattern, too few days, too old."""
    site = SiteFactory.create(name="Mill Lane")
    week = on_plan(site, whole_meal())
    with pytest.raises(NotJudged, match="not said which program"):
        judged(week)
    set_pattern(site=site, meal=Meal.LUNCH, program="nslp-lunch", group="K-5", starts_on=MONDAY)
    with pytest.raises(NotJudged, match="judged over 3 to 7 days"):
        judged_week(site, MONDAY, Meal.LUNCH)
    set_pattern(site=site, meal=Meal.LUNCH, program="cacfp-lunch", group="3-5", starts_on=date(2010, 1, 1))
    with pytest.raises(NotJudged, match="are held from 2021-10-01"):
        judged_week(site, date(2015, 3, 2), Meal.LUNCH)


def test_dishes_of_another_country_are_not_credited_by_the_us_tables() -> None:
    """Portions of England are not cups."""
    site = SiteFactory.create()
    set_pattern(site=site, meal=Meal.LUNCH, program="england-lunch", group="primary", starts_on=MONDAY)
    week = on_plan(site, whole_meal())
    assert all(plate.food.credits == {} for _, plates in week.days for plate in plates)
    assert any("another country" in step for step in week.days[0][1][0].arithmetic)


@pytest.mark.parametrize(
    ("day", "group"),
    [("2026-07-31", None), ("2026-08-01", "K-5"), ("2026-09-30", "K-5"), ("2026-10-01", None), ("2027-01-04", "K-8")],
)
def test_the_pattern_of_a_day(day: str, group: str | None) -> None:
    """From its first day to its last, or until the next one begins."""
    site = SiteFactory.create()
    said = {"site": site, "meal": Meal.LUNCH, "program": "nslp-lunch"}
    set_pattern(**said, group="K-5", starts_on=date(2026, 8, 1), ends_on=date(2026, 9, 30))
    set_pattern(**said, group="6-8", starts_on=date(2027, 1, 4))
    set_pattern(**said, group="K-8", starts_on=date(2027, 1, 4))  # a correction
    held = SitePattern.objects.holding(site, Meal.LUNCH, date.fromisoformat(day))
    assert (held.group if held else None) == group
    assert SitePattern.objects.holding(site, Meal.SUPPER, date(2027, 1, 4)) is None


@pytest.mark.parametrize(
    ("program", "group", "ends_on", "says"),
    [
        ("no-lunch", "K-5", None, "no program held here"),
        ("nslp-lunch", "3-6", None, "has no group"),
        ("sbp-breakfast", "K-5", None, "no pattern of a lunch"),
        ("nslp-lunch", "K-5", date(2026, 7, 1), "before the first"),
    ],
)
def test_a_pattern_that_cannot_be_is_refused(program: str, group: str, ends_on: date | None, says: str) -> None:
    """With the names that there are."""
    with pytest.raises(ValidationError, match=says):
        set_pattern(
            site=SiteFactory.create(),
            meal=Meal.LUNCH,
            program=program,
            group=group,
            starts_on=date(2026, 8, 1),
            ends_on=ends_on,
        )


def test_a_week_is_a_handful_of_queries(site: Site, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    """Whatever the number of its dishes."""
    on_plan(site, *[whole_meal() for _ in range(5)])
    with django_assert_num_queries(6):
        week_of(site, MONDAY, Meal.LUNCH)
