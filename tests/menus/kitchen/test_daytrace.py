"""A day written down in JSON, and its answer: good days, and days that are wrong in every way."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.kitchen.daytrace import trace_day
from menus.kitchen.events import Clean, Event, Serve, Use
from tests.menus.kitchen.days import DISHES, MATERIALS
from tests.menus.kitchen.days import days as random_days
from tests.menus.kitchen.stepwise import stepwise

Entry = dict[str, Any]
unhurried = settings(deadline=None)  # the first code loads the catalogue

BOARD: Entry = {"id": "board", "kind": "board", "material": "non_porous"}
FRYER: Entry = {"id": "fryer", "kind": "fryer", "material": "fryer_oil"}
PEANUT: Entry = {"id": "sandwich", "present": ["peanut"], "possible": ["milk"]}
APPLE: Entry = {"id": "apple", "present": [], "possible": []}


def use(at: Any, dish: Any, surface: Any = "board") -> Entry:
    return {"at": at, "do": "use", "surface": surface, "dish": dish}


def clean(at: Any, method: Any = "wash_rinse_sanitize", surface: Any = "board") -> Entry:
    return {"at": at, "do": "clean", "surface": surface, "method": method}


def answer(*events: Any, surfaces: Any = None, dishes: Any = None) -> dict[str, Any]:
    return trace_day(
        {"surfaces": surfaces or [BOARD, FRYER], "dishes": dishes or [PEANUT, APPLE], "events": list(events)}
    )


def possible(answered: dict[str, Any], dish: str = "apple") -> list[str]:
    return [each["substance"] for each in answered["dishes"][dish]["possible"]]


def test_the_whole_answer() -> None:
    """Codes in order; a dish's own doubt has no chain, what was carried has one; events may stand in any order."""
    link = {"at": "09:00", "surface": "board", "from": "sandwich"}
    assert answer(use("09:30", "apple"), use("09:00", "sandwich")) == {
        "dishes": {
            "sandwich": {"present": ["peanut"], "possible": [{"substance": "milk", "chain": []}]},
            "apple": {
                "present": [],
                "possible": [{"substance": "milk", "chain": [link]}, {"substance": "peanut", "chain": [link]}],
            },
        },
        "errors": [],
    }


def test_a_chain_over_two_surfaces() -> None:
    """From where it began, in the order of time."""
    bread = {"id": "bread", "present": ["wheat"], "possible": []}
    knife = {"id": "knife", "kind": "utensil", "material": "non_porous"}
    told = answer(
        use("09:00", "sandwich", "knife"),
        use("09:05", "bread", "knife"),
        use("09:05", "bread"),
        clean("09:10", surface="knife"),
        use("09:20", "apple"),
        surfaces=[BOARD, knife],
        dishes=[PEANUT, bread, APPLE],
    )
    peanut = next(each for each in told["dishes"]["apple"]["possible"] if each["substance"] == "peanut")
    assert peanut["chain"] == [
        {"at": "09:00", "surface": "knife", "from": "sandwich"},
        {"at": "09:05", "surface": "board", "from": "bread"},
    ]


@pytest.mark.parametrize(
    ("between", "surface", "carries"),
    [
        (clean("09:10"), "board", False),
        (clean("09:10", "dry_wipe"), "board", True),
        (clean("09:00"), "board", True),  # at the minute of a use
        (clean("08:50"), "board", True),  # before, not between
        ({"at": "09:10", "do": "change-oil", "surface": "fryer"}, "fryer", False),
        (clean("09:10", "filter_oil", "fryer"), "fryer", True),
        (clean("09:10", "wash_rinse_sanitize", "fryer"), "fryer", True),
        (clean("09:10", "unknown_or_unrecorded"), "board", True),
    ],
)
def test_what_a_cleaning_clears(between: Entry, surface: str, carries: bool) -> None:
    """As the table of methods says, and none of these is an error."""
    told = answer(use("09:00", "sandwich", surface), between, use("09:30", "apple", surface))
    assert (possible(told) == ["milk", "peanut"]) == carries
    assert told["errors"] == []


def test_a_serving_ends_it() -> None:
    """A use after the serving changes nothing; one at its minute does."""
    serve = {"at": "09:10", "do": "serve", "dish": "apple"}
    assert possible(answer(use("09:00", "sandwich"), serve, use("09:20", "apple"))) == []
    assert possible(answer(use("09:00", "sandwich"), serve, use("09:10", "apple"))) == ["milk", "peanut"]


def test_a_serving_is_no_touch_but_says_so() -> None:
    """A surface that a serving names moves nothing; what it would have brought is noted."""
    told = answer(use("09:00", "sandwich"), {"at": "09:10", "do": "serve", "dish": "apple", "surface": "board"})
    assert possible(told) == []
    assert "“apple” would have milk, peanut" in told["notes"][0]
    assert told["errors"] == []


def test_present_beats_possible() -> None:
    """A dish that has it is not said to perhaps have it."""
    told = answer(dishes=[{"id": "apple", "present": ["milk"], "possible": ["milk", "egg"]}])
    assert told["dishes"]["apple"] == {"present": ["milk"], "possible": [{"substance": "egg", "chain": []}]}


def test_a_toaster_never_comes_clean() -> None:
    """Whatever it is made of (FARE poster 2020)."""
    toaster = {"id": "board", "kind": "toaster", "material": "non_porous"}
    told = answer(use("09:00", "sandwich"), clean("09:10"), use("09:20", "apple"), surfaces=[toaster])
    assert possible(told) == ["milk", "peanut"]


def test_what_stands_in_a_bar_touches_what_comes_later() -> None:
    """Until somebody has cleaned there: the next meal starts anew."""
    bar = {"id": "board", "kind": "self-serve bar", "material": "non_porous"}
    cake = {"id": "cake", "present": ["wheat"], "possible": []}
    events = [use("11:00", "apple"), use("11:30", "sandwich"), clean("13:00"), use("15:00", "cake")]
    told = answer(*events, surfaces=[bar], dishes=[PEANUT, APPLE, cake])
    assert (possible(told), possible(told, "cake")) == (["milk", "peanut"], [])


@pytest.mark.parametrize(
    ("entry", "error", "carries"),
    [
        (clean("09:10", "lick"), "“lick” is no cleaning method. Use one of", True),
        (clean("09:10", None), "“null” is no cleaning method", True),
        (clean("9.10"), "Write HH:MM", True),
        (clean("24:00"), "Write HH:MM", True),
        (clean("09:10", surface="shelf"), '"shelf" is no surface of the list, so nothing is cleaned', True),
        ({"at": "09:10", "do": "change-oil", "surface": "board"}, "only a fryer's oil is changed", True),
        ({"at": "09:10", "do": "wash", "surface": "board"}, "none of use, clean, change-oil, serve", True),
        ({"at": "09:10", "do": "serve", "dish": "soup"}, '"soup" is no dish of the list, so nothing is served', True),
        ({"at": None, "do": "serve", "dish": "apple"}, "null is no time", True),
        (5, "Event 2 is not an object", True),
        ({}, "Event 2 (): null is no time", True),
    ],
)
def test_a_bad_entry_clears_nothing(entry: Any, error: str, carries: bool) -> None:
    """It is said what, why and how to mend it, and what was carried without it still is."""
    told = answer(use("09:00", "sandwich"), entry, use("09:30", "apple"))
    assert any(error in said for said in told["errors"])
    assert possible(told) == ["milk", "peanut"]


@pytest.mark.parametrize(
    ("entry", "found"),
    [
        (use("soon", "sandwich"), ["milk", "peanut"]),  # no time: all day
        (use("09:05", "sandwich", None), ["milk", "peanut"]),  # no surface: any
        (use("09:05", "soup"), ["*"]),  # nobody knows what it holds
        (use("09:05", None), ["*"]),
        ({"at": "09:05", "do": "chop", "surface": "board", "dish": "sandwich"}, ["milk", "peanut"]),
    ],
)
def test_a_bad_use_counts_as_one(entry: Any, found: list[str]) -> None:
    """On the cautious side until it is mended."""
    told = answer(entry, use("09:30", "apple"))
    assert possible(told) == found
    assert told["errors"]


def test_a_use_without_a_time_comes_at_every_time() -> None:
    """Before and after the cleaning; its link says that nobody knows when."""
    told = answer(use(None, "sandwich"), use("08:00", "apple"), clean("07:00"))
    assert told["dishes"]["apple"]["possible"][0]["chain"] == [{"at": None, "surface": "board", "from": "sandwich"}]


def test_a_surface_that_nobody_described_is_never_clean() -> None:
    """It carries all the same."""
    events = [use("09:00", "sandwich", "shelf"), clean("09:10", surface="shelf"), use("09:20", "apple", "shelf")]
    assert possible(answer(*events)) == ["milk", "peanut"]


@pytest.mark.parametrize(
    ("dish", "error"),
    [
        ({"id": "pie"}, "says neither “present” nor “possible”"),
        ({"id": "pie", "present": "milk"}, "is not a list of codes"),
        ({"id": "pie", "present": [7]}, "7 is no code"),
    ],
)
def test_a_dish_that_nobody_can_read_may_hold_anything(dish: Entry, error: str) -> None:
    """Silence is not absence."""
    told = answer(use("09:00", "pie"), use("09:30", "apple"), dishes=[dish, APPLE])
    assert error in told["errors"][0]
    assert possible(told, "pie") == possible(told) == ["*"]


def test_an_unknown_code_is_carried_as_it_stands() -> None:
    """With the nearest ones that there are."""
    told = answer(use("09:00", "pie"), use("09:30", "apple"), dishes=[{"id": "pie", "present": ["peanutt"]}, APPLE])
    assert "peanut" in told["errors"][0]
    assert possible(told) == ["peanutt"]


@pytest.mark.parametrize(
    ("surface", "error"),
    [
        ({"id": "board", "material": "steel"}, '"steel" is unknown'),
        ({"id": "board"}, "material null is unknown"),
        ({"id": "board", "kind": "fryer", "material": "non_porous"}, "a fryer's material is its oil"),
    ],
)
def test_a_surface_of_unknown_material_is_never_clean(surface: Entry, error: str) -> None:
    """No cleaning is known to work on it."""
    told = answer(use("09:00", "sandwich"), clean("09:10"), use("09:20", "apple"), surfaces=[surface])
    assert error in told["errors"][0]
    assert possible(told) == ["milk", "peanut"]


def test_what_is_described_twice_counts_for_both() -> None:
    """Two materials that do not agree leave none that comes clean; two contents are both there."""
    wood = {**BOARD, "material": "porous"}
    again = {"id": "sandwich", "present": ["egg"], "possible": []}
    events = [use("09:00", "sandwich"), clean("09:10"), use("09:20", "apple")]
    told = answer(*events, surfaces=[BOARD, wood], dishes=[PEANUT, again, APPLE])
    assert possible(told) == ["egg", "milk", "peanut"]
    assert len(told["errors"]) == 2


junk: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 99) | st.sampled_from(["use", "clean", "board", "apple", "09:00", ""]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["id", "at", "do", "surface", "dish", "present"]), inner, max_size=5)
    ),
    max_leaves=12,
)


@unhurried
@given(st.fixed_dictionaries({"surfaces": junk, "dishes": junk, "events": junk}) | junk)
def test_nothing_raises(day: Any) -> None:
    """Whatever is given, there is an answer that can be written down."""
    told = trace_day(day)
    assert set(told) - {"notes"} == {"dishes", "errors"}
    json.dumps(told)


@unhurried
@given(random_days)
def test_it_agrees_with_the_slow_way(drawn: list[Event]) -> None:
    """By the codes, on days that the format can tell."""
    events = [event for event in drawn if isinstance(event, Use | Clean | Serve)]
    told = trace_day(
        {
            "surfaces": [{"id": str(key), "kind": "thing", "material": value} for key, value in MATERIALS.items()],
            "dishes": [{"id": str(key), "present": sorted(codes), "possible": []} for key, codes in DISHES.items()],
            "events": [written(event) for event in events],
        }
    )
    slow = stepwise(events, MATERIALS, DISHES, set())
    assert {int(dish): set(possible(told, dish)) for dish in told["dishes"]} == {
        dish: set(things) for dish, things in slow.items()
    }


def written(event: Event) -> Entry:
    at = f"{event.at:%H:%M}"
    if isinstance(event, Use):
        return use(at, str(event.dish), str(event.surface))
    if isinstance(event, Clean):
        return clean(at, event.method, str(event.surface))
    assert isinstance(event, Serve)
    return {"at": at, "do": "serve", "dish": event.dish}  # a number will do


def test_the_command_prints_the_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From a file; even half a character in a name comes out as JSON."""
    path = tmp_path / "day.json"
    path.write_text('{"surfaces": [], "dishes": [{"id": "a\\ud800", "present": []}], "events": []}', encoding="utf-8")
    call_command("trace_day", path)
    assert json.loads(capsys.readouterr().out) == {
        "dishes": {"a\ud800": {"present": [], "possible": []}},
        "errors": [],
    }


@pytest.mark.parametrize(
    ("content", "message"), [(b"[", "is not JSON"), (b"\xff", "is not UTF-8"), (b"[" * 99_999, "is not JSON")]
)
def test_the_command_refuses_what_is_no_json(tmp_path: Path, content: bytes, message: str) -> None:
    """The sentence names the file."""
    path = tmp_path / "day.json"
    path.write_bytes(content)
    with pytest.raises(CommandError, match=message):
        call_command("trace_day", path)
    with pytest.raises(CommandError, match=r"missing\.json could not be opened"):
        call_command("trace_day", tmp_path / "missing.json")


def test_the_page_is_right() -> None:
    """The example of docs/reference/trace_day.md is answered as the page says."""
    page = (Path(__file__).parents[3] / "docs" / "reference" / "trace_day.md").read_text(encoding="utf-8")
    given_day, told = (
        json.loads(block.replace(",\n                                   …", "")) for block in page.split("```")[1:4:2]
    )
    answered = trace_day(given_day)
    assert answered["errors"] == []
    assert answered["dishes"]["fish sticks"] == told["dishes"]["fish sticks"]
    assert told["dishes"]["fries"]["possible"][0] in answered["dishes"]["fries"]["possible"]
