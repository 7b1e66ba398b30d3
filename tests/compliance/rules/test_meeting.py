"""Meat with milk: each may be had, and not the two together, in one dish or at one meal."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rules.judge import judge
from compliance.rules.register import RULES
from compliance.rules.values import Outcome, RestrictionType, Strictness
from menus.kitchen.onemeal import AS_INGREDIENT, at_one_meal
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, Evidence, Kind, Step
from menus.substances.catalogue import Catalogue
from menus.substances.combinations import combinations

TRACE, INGREDIENT = Strictness.TRACE, Strictness.INGREDIENT
KEPT = RestrictionType("meat-with-milk", INGREDIENT)
BOTH = combinations()["meat-with-milk"]
WITHHOLD, REFER, NONE_FOUND = Outcome.WITHHOLD, Outcome.REFER, Outcome.NONE_FOUND


def piece(substance: str, kind: Kind = Kind.NAMED) -> Evidence:
    return Evidence(substance, kind, term=substance)


@pytest.mark.parametrize(
    ("food", "outcome"),
    [
        ([piece("beef"), piece("milk")], WITHHOLD),
        ([piece("chicken"), piece("milk.goat", Kind.DERIVED)], WITHHOLD),
        ([piece("beef")], NONE_FOUND),
        ([piece("milk")], NONE_FOUND),
        ([piece("fish.cod"), piece("milk")], NONE_FOUND),
        ([piece("egg"), piece("milk")], NONE_FOUND),
        ([piece("milk"), piece("gelatin")], REFER),  # may be made of pork or beef
        ([piece("beef"), piece("milk", Kind.GROUP)], REFER),
        ([piece("beef"), piece("milk", Kind.MAY_CONTAIN)], NONE_FOUND),
        ([piece("beef", Kind.CARRY_OVER), piece("milk")], NONE_FOUND),
        ([piece(ANY, Kind.UNREAD_WORD), piece("milk")], REFER),
    ],
)
def test_one_dish(food: list[Evidence], outcome: Outcome) -> None:
    """The milder side counts: meat or poultry, and milk; neither fish nor egg is meat."""
    assert judge(KEPT, food).outcome is outcome


def test_traces_count_for_whoever_keeps_traces_apart() -> None:
    """As with every restriction that reaches to possible presence."""
    food = [piece("beef"), piece("milk", Kind.MAY_CONTAIN)]
    assert judge(RestrictionType("meat-with-milk", TRACE), food).outcome is WITHHOLD


def test_each_side_is_said_with_the_words_of_the_other() -> None:
    """Whoever reads it finds both labels."""
    patty, slice_ = Step("label", "1", "Patty"), Step("label", "2", "Cheese")
    verdict = judge(KEPT, [piece("beef").under(patty), piece("milk").under(slice_)])
    assert [finding.rule for finding in verdict.findings] == ["R19", "R19"]
    assert {finding.reason for finding in verdict.findings} == {
        "Patty names “beef”, and the same food holds milk (“milk”): the two are not eaten together.",
        "Cheese names “milk”, and the same food holds meat or poultry (“beef”): the two are not eaten together.",
    }


def test_a_doubt_keeps_its_own_rule_and_substance() -> None:
    """So that licensed staff are asked about the word that leaves it open."""
    verdict = judge(KEPT, [piece("milk"), piece("gelatin")])
    assert {(each.rule, each.evidence.substance) for each in verdict.findings} == {("R07", "gelatin")}


def at_meal(*dishes: Pieces) -> list[Outcome]:
    numbered = dict(enumerate(dishes))
    more = at_one_meal(BOTH, numbered, {number: f"Dish {number}" for number in numbered})
    return [judge(KEPT, (*numbered[number], *more[number])).outcome for number in numbered]


@pytest.mark.parametrize(
    ("dishes", "outcomes"),
    [
        ([(piece("beef"),), (piece("milk"),)], [REFER, REFER]),
        ([(piece("beef"),), (piece("milk"),), (piece("rice"),)], [REFER, REFER, NONE_FOUND]),
        ([(piece("beef"),), (piece("fish.cod"),)], [NONE_FOUND, NONE_FOUND]),
        ([(piece("beef"),), (piece("milk", Kind.MAY_CONTAIN),)], [NONE_FOUND, NONE_FOUND]),
        ([(piece("beef"), piece("milk")), (piece("milk"),)], [WITHHOLD, REFER]),
        ([(piece("beef"),), (piece(ANY, Kind.NO_LABEL),)], [REFER, REFER]),
        ([(piece("rice"),), (piece(ANY, Kind.NO_LABEL),)], [NONE_FOUND, REFER]),
    ],
)
def test_dishes_of_one_meal(dishes: list[Pieces], outcomes: list[Outcome]) -> None:
    """Each of two that may not meet is referred; what nobody has read may be the other."""
    assert at_meal(*dishes) == outcomes


def test_the_other_dish_is_named() -> None:
    """Or nobody at the counter would know what not to give with it."""
    more = at_one_meal(BOTH, {1: (piece("beef"),), 2: (piece("milk"),)}, {1: "Stew", 2: "Milk carton"})
    (finding,) = judge(KEPT, more[1]).findings
    assert finding.rule == "R20"
    assert "“Milk carton” holds milk (“milk”), at the same meal. Do not serve both at one meal" in finding.reason


def test_what_counts_at_a_meal_is_what_counts_as_an_ingredient() -> None:
    """The kitchen's list of kinds and the rules of the engine agree."""
    serious = {kind for rule in RULES if rule.ingredient >= REFER for kind in rule.kinds}
    unread = {kind for rule in RULES if rule.trace is rule.ingredient is REFER for kind in rule.kinds}
    made_here = {Kind.TOGETHER, Kind.SAME_MEAL}
    assert serious - (unread - {Kind.ONCE_MEMBER}) - made_here == AS_INGREDIENT


def test_both_sides_are_in_the_catalogue() -> None:
    """And the combination is one of its substances, so that a restriction can name it."""
    for combination in combinations().values():
        assert Catalogue.load().get(combination.code).kind == "combination"
        for side, _ in combination.sides:
            assert all(code in Catalogue.load() for code in side.substances)
    assert {each.code for each in Catalogue.load() if each.kind == "combination"} == set(combinations())


PIECES = st.builds(
    Evidence,
    substance=st.sampled_from(["milk", "beef", "chicken", "animal-flesh", "gelatin", "lactose", "wheat", ANY]),
    kind=st.sampled_from([kind for kind in Kind if kind not in {Kind.TOGETHER, Kind.SAME_MEAL}]),
)
DISHES = st.lists(st.lists(PIECES, max_size=3).map(tuple), min_size=1, max_size=3)


@given(DISHES, st.integers(0, 2), PIECES)
def test_more_in_one_dish_is_never_milder_for_any(dishes: list[Pieces], which: int, extra: Evidence) -> None:
    """Design section 2, item 3, over a whole meal."""
    which %= len(dishes)
    more = [(*each, extra) if number == which else each for number, each in enumerate(dishes)]
    assert all(after >= before for after, before in zip(at_meal(*more), at_meal(*dishes), strict=True))


@given(DISHES, st.integers(0, 2))
def test_losing_a_label_is_never_milder_for_any(dishes: list[Pieces], which: int) -> None:
    """What a dish was known to hold it may still hold; its own outcome is at least a referral."""
    which %= len(dishes)
    lost = [(Evidence(ANY, Kind.NO_LABEL),) if number == which else each for number, each in enumerate(dishes)]
    for number, (after, before) in enumerate(zip(at_meal(*lost), at_meal(*dishes), strict=True)):
        assert after >= (REFER if number == which else before)


@given(DISHES)
def test_the_order_of_pieces_says_nothing(dishes: list[Pieces]) -> None:
    """The same facts give the same findings."""
    names = {number: f"Dish {number}" for number in range(len(dishes))}
    one = at_one_meal(BOTH, dict(enumerate(dishes)), names)
    other = at_one_meal(BOTH, {number: tuple(reversed(each)) for number, each in enumerate(dishes)}, names)
    assert one == other
