"""Choking by age: which words of a food raise a notice, which do not, and for whom."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.choking import Advice, Choking, Food, choking, choking_in_dish
from menus.mealpattern.hazards import Action, Hazard, hazards

with (Path(__file__).parent / "cases.csv").open(encoding="utf-8", newline="") as _lines:
    CASES = list(csv.DictReader(_lines))

TODDLER = 20
STRICTER = {"CH056": "CH002"}
"""Rows for older children, by the row for the same food that asks for more of younger ones."""
FOUR = 48


def told(found: tuple[Choking, ...]) -> str:
    return "; ".join(f"{each.hazard.id} {each.advice}" for each in found)


def ids(found: tuple[Choking, ...]) -> set[str]:
    return {each.hazard.id for each in found}


@pytest.mark.parametrize("case", CASES, ids=[f"{case['words']} [{case['form']}]" for case in CASES])
def test_words(case: dict[str, str]) -> None:
    """Both kinds of case: what must raise a notice for a toddler, and what must not."""
    assert told(choking([Food(case["words"], form=case["form"])], youngest=TODDLER)) == case["hazards"]


@pytest.mark.parametrize("row", hazards(), ids=[hazard.id for hazard in hazards()])
def test_every_row_can_fire_and_stops_at_its_age(row: Hazard) -> None:
    """Each name of each row raises its notice in the month before the limit, and none from the limit on."""
    for phrase in row.words | row.as_served | row.alone:
        words = " ".join(phrase)
        assert row.id in ids(choking([Food(words)], youngest=row.under_us - 1)), words
        assert row.id not in ids(choking([Food(words)], youngest=row.under_us)), words


def test_every_row_names_its_source_and_whether_it_was_seen() -> None:
    """A row from memory says that it is the site's own rule, so that nobody takes it for a published one."""
    for hazard in hazards():
        assert hazard.source and hazard.what.endswith("."), hazard.id
        assert hazard.verified in {"read", "memory"} and hazard.what_verified in {"read", "derived"}, hazard.id
        assert hazard.verified == "read" or hazard.source.startswith(("site rule", "common practice")), hazard.id
        assert hazard.action is not Action.CHANGE or hazard.mended_by, hazard.id
        assert hazard.under_us <= hazard.under_uk, hazard.id


def test_unknown_age_meets_every_limit() -> None:
    """Nobody's birth date is taken for an old one."""
    assert ids(choking([Food("brown rice"), Food("popcorn")], youngest=None)) == {"CH043", "CH014"}


@pytest.mark.parametrize(("place", "fires"), [("us", False), ("uk", True), ("eu", True), ("anz", True)])
def test_limit_of_the_place(place: str, fires: bool) -> None:
    """Whole almonds at four and a half: the US lists end at four, the English at five; elsewhere the stricter holds.

    Sources: Caring for Our Children 4.5.0.10; England DfE early-years guidance (2023).
    """
    assert bool(choking([Food("whole almonds")], youngest=54, place=place)) is fires


def test_unstated_form_says_to_ask_and_to_take_it_for_whole() -> None:
    """Silence about the form is not a remedy."""
    (found,) = choking([Food("grapes")], youngest=TODDLER)
    assert found.advice is Advice.ASK
    assert "take it for whole" in found.what and "quarters" in found.what
    assert found.ages == "under 4 years"


def test_what_may_have_melted_away_is_asked_about() -> None:
    """Marshmallow in the list of a bar may be gone into it; as such it is left out."""
    (listed,) = choking([Food("marshmallow", within=("Crispy square",), is_list=True)], youngest=TODDLER)
    (loose,) = choking([Food("Marshmallows")], youngest=TODDLER)
    assert (listed.advice, loose.advice) == (Advice.ASK, Advice.LEAVE_OUT)
    assert listed.what.startswith("Ask whether it is in there as such") and loose.what.startswith("Do not serve")


def test_gravest_advice_of_a_hazard_is_kept() -> None:
    """Grapes somewhere, whole grapes elsewhere: one notice, the graver."""
    (found,) = choking([Food("grapes"), Food("whole grapes")], youngest=TODDLER)
    assert found.advice is Advice.CHANGE


@pytest.mark.parametrize(
    ("item", "within", "fires"),
    [
        ("roasted peanuts", "Creamy peanut butter", False),
        ("roasted peanuts", "Party mix", True),
        ("pine nuts", "Basil pesto", False),
        ("raisins", "Raisin bread", False),
        ("raisins", "Breakfast mix", True),
        ("walnuts", "Walnut bread", True),
        ("carrots", "Vegetable broth", False),
        ("popcorn", "Movie night bag", True),
        ("marshmallows", "Cereal square", True),
        ("corn", "Corn tortilla", False),
        ("celery", "Seasoning", False),
        ("whole milk", "Yogurt", False),
    ],
)
def test_items_of_an_ingredient_list(item: str, within: str, fires: bool) -> None:
    """A list seldom says the form: what the whole was turned into answers, and most foods of it are passed."""
    assert bool(choking([Food(item, within=(within,), is_list=True)], youngest=TODDLER)) is fires


@pytest.mark.parametrize(
    ("name", "parts", "expected"),
    [
        ("Grapes", [Food("Grapes, red, fresh", form="quartered")], ""),
        ("Grapes", [Food("Grapes, red, fresh")], "CH001 ask"),
        ("Fruit salad", [Food("Grapes", form="quartered"), Food("Bananas", form="sliced")], ""),
        ("Fruit salad", [Food("Grapes"), Food("Bananas")], "CH001 ask"),
        ("Fruit salad", [], "CH050 ask"),
        ("Steamed broccoli", [Food("Broccoli florets, frozen")], ""),
        ("Broccoli with dip", [Food("Broccoli florets, frozen")], "CH026 ask"),
        ("Carrot sticks", [Food("Carrots, fresh")], "CH022 change"),
        ("Grapes, quartered", [Food("Grapes", form="whole")], "CH001 ask"),
    ],
)
def test_dishes(name: str, parts: list[Food], expected: str) -> None:
    """The name and the lines of a recipe answer for each other; where they disagree, somebody must ask."""
    assert told(choking_in_dish(name, parts, youngest=TODDLER)) == expected


@given(st.text(max_size=200), st.text(max_size=40))
def test_any_text_is_read(words: str, form: str) -> None:
    """Nothing that somebody types raises, and whatever is found stands in the text."""
    for found in choking([Food(words, form=form, within=(form,))], youngest=None):
        assert found.words in words


@given(st.sampled_from(CASES), st.integers(0, FOUR - 1))
def test_younger_is_never_milder(case: dict[str, str], months: int) -> None:
    """Every notice for somebody older stands for somebody younger too."""
    foods = [Food(case["words"], form=case["form"])]
    older = {STRICTER.get(each, each) for each in ids(choking(foods, youngest=months + 12))}
    assert older <= ids(choking(foods, youngest=months))


@given(st.sampled_from(CASES), st.sampled_from(CASES))
def test_more_food_is_never_milder(one: dict[str, str], other: dict[str, str]) -> None:
    """A second food on the tray takes no notice away."""
    first = Food(one["words"], form=one["form"])
    both = [first, Food(other["words"], form=other["form"])]
    assert ids(choking([first], youngest=TODDLER)) <= ids(choking(both, youngest=TODDLER))
