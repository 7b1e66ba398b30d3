"""A file that is no week gets every fault said at once; whatever is given, it is judged or refused in sentences."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.weekfile import BadWeek
from tests.menus.mealpattern.patterns.weeks import broken, plain, week

unhurried = settings(deadline=None)  # a busy machine is no fault of the rules

NOTHING_SAFE_SAID = ("safe", "allergy-free", "ok to eat", "cleared", "guaranteed")


def faults(file: Any) -> tuple[str, ...]:
    with pytest.raises(BadWeek) as raised:
        check_week(file)
    return raised.value.faults


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"program": "nslp"}, "no pattern has that name. Write one of nslp-lunch, sbp-breakfast"),
        ({"program": None}, "“program” is missing"),
        ({"group": "K-9"}, "which nslp-lunch does not have. Write one of K-5, 6-8, 9-12, K-8"),
        ({"date": "30/11/2026"}, "Write the first day of the week as YYYY-MM-DD"),
        ({"date": "2024-06-30"}, "the rules of nslp-lunch are held from 2024-07-01 on"),
        ({"days": {}}, "“days” is an object, not a list"),
        ({"days": [[], []]}, "put to the week before or after"),
        ({"days": [[]] * 8}, "Leave the days beyond to another week"),
        ({"days": [[], [], None]}, "Day 3 is missing, not a list of foods"),
        ({"weeks": 2}, "is no key of a week"),
    ],
)
def test_what_is_wrong_with_the_week(changes: dict[str, Any], said: str) -> None:
    """What, why and how to mend it."""
    (fault,) = faults(week(**changes))
    assert said in fault


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"food": " "}, "Write what the food is called"),
        ({"credits": None}, "“credits” is missing. Write { … }, and {} for a food that credits nothing"),
        ({"credits": {"fruits": 1, "fruit": 1}}, "credits fruit twice"),
        ({"credits": {"friut": 1}}, "“friut” is no component".replace("“friut”", '"friut"')),
        ({"credits": {"fruit": "1/2"}}, "which is no number. Write digits, as in 0.5"),
        ({"credits": {"fruit": True}}, "which is no number"),
        ({"credits": {"fruit": -0.5}}, "which no serving has"),
        ({"credits": {"fruit": float("nan")}}, "which no serving has"),
        ({"credits": {"fruit": Decimal("1e999999999")}}, "which no serving has"),
        ({"credits": {"fruit": 10**5000}}, "a number of too many digits"),
        ({"credits": {"fruit": 500}}, "from 0 to 100"),
        ({"nutrients": []}, "“nutrients” is a list"),
        ({"nutrients": {"sodium_mg": "110"}}, "which is no number"),
        ({"nutrients": {"kcal": 60, "energy_kcal": 60}}, "states energy_kcal twice"),
        ({"juice": "yes"}, "Write true or false"),
        ({"product": "yoghurt"}, "Write one of breakfast_cereal, yogurt, flavored_milk"),
        ({"milk_fat": "3.5%"}, "Write fat_free, low_fat, reduced_fat or whole"),
        ({"whole_grain": True}, "is no key of a food"),
    ],
)
def test_what_is_wrong_with_a_food(changes: dict[str, Any], said: str) -> None:
    """The fault says which food of which day."""
    file = week()
    file["days"][1][0] |= changes
    (fault,) = faults(file)
    assert fault.startswith("Day 2, food 1") and said in fault


def test_all_faults_are_said_at_once() -> None:
    file = week(date="soon")
    file["days"][0][0]["credits"] = {"apples": 1, "pears": "two"}
    file["days"][4] = "pizza"
    assert len(faults(file)) == 5


@pytest.mark.parametrize(
    ("name", "component", "before"),
    [
        ("fruits", "fruit", 2.5),
        (" Fruit ", "fruit", 2.5),
        ("vegetables.legumes", "vegetables.beans_peas_lentils", 0.75),
        ("vegetables.red/orange", "vegetables.red_orange", 0.75),
        ("vegetables.dark green", "vegetables.dark_green", 0.75),
        ("meats_meat_alternates", "meat_alternate", 10),
        ("fluid milk", "milk", 5),
    ],
)
def test_names_that_are_taken_too(name: str, component: str, before: float) -> None:
    """Plurals, blanks, capitals and older words for the same component."""
    file = week()
    file["days"][0].append(plain("more") | {"credits": {name: 0.5}})
    assert check_week(file)["totals"]["components"][component]["week"] == before + 0.5


def test_a_dash_and_capitals_do_not_matter_in_program_and_group() -> None:
    assert broken(week(program="NSLP-Lunch", group="grades k–5")) == []


def test_notes_beside_it_are_left_alone() -> None:
    """A title, an id, an amount in words: nothing reads them, and nobody is stopped by them."""
    file = week(title="Week 3", id=7)
    file["days"][0][0] |= {"amount": "1/2 cup", "note": "sliced"}
    assert broken(file) == []


def test_nutrients_go_by_other_names_too() -> None:
    file = week()
    for day in file["days"]:
        day[0]["nutrients"]["calories"] = day[0]["nutrients"].pop("energy_kcal")
    assert check_week(file)["unknown"] == []


def test_null_nutrients_are_not_stated() -> None:
    file = week()
    file["days"][0][0]["nutrients"]["sodium_mg"] = None
    assert [each["rule"] for each in check_week(file)["unknown"]] == ["nslp-lunch/sodium-week"]


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.decimals(allow_nan=True),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)
KEYS = ("food", "credits", "nutrients", "product", "weight_g", "milk_fat", "juice", "whole_grain_rich")
FOODS = st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=6) | VALUES
WEEKS = st.fixed_dictionaries(
    {},
    optional={
        "program": st.sampled_from(["nslp-lunch", "cacfp-snack", "england-lunch"]) | VALUES,
        "group": st.sampled_from(["K-5", "1-2", "primary", "infant-0-5"]) | VALUES,
        "date": st.dates().map(str) | VALUES,
        "days": st.lists(st.lists(FOODS, max_size=3), max_size=8) | VALUES,
    },
)


@unhurried
@given(WEEKS | VALUES)
def test_anything_is_judged_or_refused_in_sentences(file: Any) -> None:
    """No other error than BadWeek, and no fault without words."""
    try:
        json.dumps(check_week(file), allow_nan=False)
    except BadWeek as error:
        assert error.faults and all(len(fault.split()) > 4 for fault in error.faults)


FRUIT = json.dumps(week()).replace('"fruit": 0.5', '"fruit": AMOUNT', 1)


def written(path: Path, text: str | bytes) -> Path:
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_the_command_prints_the_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """JSON on standard output, with a byte order mark or without; no word that promises anything."""
    file = week()
    file["days"][0][0]["food"] = "half a character \ud83c"
    call_command("check_week", written(tmp_path / "week.json", "\ufeff" + json.dumps(file)))
    text = capsys.readouterr().out
    assert json.loads(text)["findings"] == []
    assert not [word for word in NOTHING_SAFE_SAID if word in text.lower()]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "is not JSON"),
        (b"\xff\xfe", "is not UTF-8 text"),
        ("[" * 100_000, "is not JSON"),
        ('{"days": [], "days": []}', 'the key "days" stands twice'),
        ("1" * 5000, "is not JSON"),
        (FRUIT.replace("AMOUNT", "1e400"), "which no serving has"),
        (FRUIT.replace("AMOUNT", "NaN"), "which no serving has"),
    ],
)
def test_the_command_refuses_what_it_cannot_read(tmp_path: Path, text: str | bytes, said: str) -> None:
    """One error, and nothing half answered."""
    with pytest.raises(CommandError, match=re.escape(said)):
        call_command("check_week", written(tmp_path / "week.json", text))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="could not be opened"):
        call_command("check_week", tmp_path / "missing.json")
