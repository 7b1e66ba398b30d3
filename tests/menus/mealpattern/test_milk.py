"""Milk: its kinds by date, drinks held against the regulation's table, and who may ask for them."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.milk import fat_named, milk_types
from menus.mealpattern.milk_requests import Drink, Need, request
from menus.mealpattern.milk_substitute import Comparison, compare, table

unhurried = settings(deadline=None)  # a busy machine is no fault of the rules

LOW = ("fat_free", "low_fat")
ALL = ("fat_free", "low_fat", "reduced_fat", "whole")
PHYSICIAN_OR_PARENT = ("licensed physician", "parent or guardian")
SCHOOL = ("State licensed healthcare professional", "registered dietitian")


@pytest.mark.parametrize(
    ("program", "group", "day", "fats", "flavored"),
    [
        ("nslp-lunch", "K-5", date(2026, 1, 13), LOW, True),
        ("nslp-lunch", "9-12", date(2026, 1, 14), ALL, True),
        ("sbp-breakfast", "K-5", date(2026, 6, 7), LOW, True),
        ("sbp-breakfast", "K-8", date(2026, 6, 8), ALL, True),
        ("cacfp-snack", "3-5", date(2026, 6, 7), LOW, False),
        ("cacfp-lunch", "3-5", date(2026, 6, 8), ALL, False),
        ("cacfp-supper", "13-18", date(2026, 6, 8), ALL, True),
    ],
)
def test_kinds_of_milk(program: str, group: str, day: date, fats: tuple[str, ...], flavored: bool) -> None:
    """7 CFR 210.10(d)(1), 220.8(d), 226.20(a)(1); P.L. 119-69 from 2026-01-14; FR Doc 2026-09212 from 2026-06-08."""
    allowed = milk_types(program, group, day)
    assert allowed is not None
    assert (set(allowed.fats), allowed.flavored) == (set(fats), flavored)
    assert allowed.source


def test_one_year_olds_take_whole_milk() -> None:
    """226.20(a)(1)(i): the row for the ages of one and two says which milk is whose, before and after June 2026."""
    for day in (date(2026, 6, 7), date(2026, 6, 8)):
        allowed = milk_types("cacfp-lunch", "1-2", day)
        assert allowed and "whole" in allowed.fats and "children of one year" in allowed.note


def test_infants_have_no_milk() -> None:
    assert milk_types("cacfp-lunch", "infant-6-11", date(2026, 11, 30)) is None


@pytest.mark.parametrize(
    ("name", "fat"), [("1%", "low_fat"), ("Fat-free", "fat_free"), ("skim", "fat_free"), ("3%", None)]
)
def test_names_of_fat(name: str, fat: str | None) -> None:
    assert fat_named(name) == fat


def drink(**nutrients: float | None) -> Comparison:
    return compare({name: None if value is None else Fraction(str(value)) for name, value in nutrients.items()})


# Label values of invented drinks, of a kind that stands on shelves: common practice, no source.
SOY = {
    "calcium_mg": 450, "protein_g": 8, "vitamin_a_rae_ug": 150, "vitamin_d_ug": 3, "magnesium_mg": 39,
    "phosphorus_mg": 240, "potassium_mg": 380, "riboflavin_mg": 0.5, "vitamin_b12_ug": 3,
}  # fmt: skip
ALMOND = {"calcium_mg": 450, "protein_g": 1, "vitamin_a_rae_ug": 150, "vitamin_d_ug": 2.5, "potassium_mg": 170}
COCONUT = {"calcium_mg": 100, "protein_g": 0, "vitamin_d_ug": 2.5, "vitamin_b12_ug": 0.6, "potassium_mg": 40}


def test_a_fortified_soy_drink_that_reaches_every_figure() -> None:
    """7 CFR 210.10(d)(2)(ii) Table 2."""
    assert drink(**SOY).equivalent is True


@pytest.mark.parametrize(
    ("label", "short"),
    [
        (ALMOND, {"protein_g": 7, "potassium_mg": 179}),
        (COCONUT, {"calcium_mg": 176, "protein_g": 8, "potassium_mg": 309, "vitamin_b12_ug": 0.5}),
        (SOY | {"magnesium_mg": 23.9}, {"magnesium_mg": 0.1}),
    ],
)
def test_which_it_misses_and_by_how_much(label: dict[str, float], short: dict[str, float]) -> None:
    """Almond and coconut drinks miss protein and potassium first."""
    found = drink(**label)
    assert found.equivalent is False
    assert {line.nutrient: float(line.missing or 0) for line in found.short} == pytest.approx(short)


def test_what_a_label_does_not_state_is_not_taken_for_enough() -> None:
    """Riboflavin need not stand on a label: without it nobody can say that the drink reaches the table."""
    found = drink(**SOY | {"riboflavin_mg": None})
    assert found.equivalent is None
    assert [line.what for line in found.not_stated] == ["riboflavin"]


def test_older_units_have_their_own_figures() -> None:
    """500 IU of vitamin A and 100 IU of vitamin D, as 210.10(m)(3) printed them before 2024."""
    older = {name: value for name, value in SOY.items() if not name.startswith(("vitamin_a", "vitamin_d"))}
    assert drink(**older, vitamin_a_iu=500, vitamin_d_iu=100).equivalent is True
    assert [line.unit for line in drink(**older, vitamin_a_iu=499, vitamin_d_iu=100).short] == ["IU"]


def test_a_serving_is_scaled_to_the_cup() -> None:
    """A box of 200 ml with 230 mg of calcium has 276 mg in a cup of 240 ml."""
    line = compare({"calcium_mg": Fraction(230)}, serving_ml=200).lines[0]
    assert (line.found, line.missing) == (276, 0)
    with pytest.raises(ValueError, match="give the serving size"):
        compare({}, serving_ml=0)


@unhurried
@given(st.dictionaries(st.sampled_from([row["nutrient"] for row in table()]), st.fractions(0, 1000)))
def test_more_of_a_nutrient_misses_nothing_new(label: dict[str, Fraction]) -> None:
    """Doubling what a label states never adds a nutrient to what is short."""
    short = {line.nutrient for line in compare(label).short}
    assert {line.nutrient for line in compare({name: 2 * value for name, value in label.items()}).short} <= short


@pytest.mark.parametrize(
    ("program", "need", "kind", "day", "signs", "claimed"),
    [
        ("nslp-lunch", Need.PREFERENCE, Drink.EQUIVALENT, date(2026, 11, 30), ("parent or guardian", *SCHOOL), True),
        ("nslp-lunch", Need.OFFERED_TO_ALL, Drink.EQUIVALENT, date(2026, 1, 14), (), True),
        ("nslp-lunch", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2025, 6, 30), SCHOOL[:1], True),
        ("nslp-lunch", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2026, 1, 13), SCHOOL, True),
        ("nslp-lunch", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2026, 1, 14), (*SCHOOL, *PHYSICIAN_OR_PARENT), True),
        ("sbp-breakfast", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2026, 11, 30), SCHOOL, True),
        ("cacfp-lunch", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2025, 9, 30), SCHOOL[:1], True),
        ("cacfp-lunch", Need.DISABILITY, Drink.NOT_EQUIVALENT, date(2025, 10, 1), SCHOOL, True),
        ("cacfp-lunch", Need.PREFERENCE, Drink.EQUIVALENT, date(2026, 11, 30), ("parent or guardian",), True),
        ("cacfp-lunch", Need.PREFERENCE, Drink.LACTOSE_FREE_MILK, date(2026, 11, 30), (), True),
        ("cacfp-lunch", Need.PREFERENCE, Drink.NOT_EQUIVALENT, date(2026, 11, 30), (), False),
    ],
)
def test_who_signs(program: str, need: Need, kind: Drink, day: date, signs: tuple[str, ...], claimed: bool) -> None:
    """210.10(d)(2) and (m); P.L. 119-69 for lunch only; SP 07-2025 and CACFP 07-2025 for the dietitian's dates."""
    found = request(program, need, kind, day)
    assert found is not None
    assert (set(found.signs), found.claimed) == (set(signs), claimed)
    assert found.how and found.source


@pytest.mark.parametrize(("program", "day"), [("sbp-breakfast", date(2026, 11, 30)), ("nslp-lunch", date(2026, 1, 13))])
def test_a_case_without_a_rule_has_no_answer(program: str, day: date) -> None:
    """Offered to all: lunch only, and not before its date. Nothing is made up for it."""
    assert request(program, Need.OFFERED_TO_ALL, Drink.EQUIVALENT, day) is None
