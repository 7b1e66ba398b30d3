"""What is carried from dish to dish over shared surfaces.

The named cases follow a table of 36 kitchen situations from public guidance; the basis stands beside each.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from menus.kitchen.airborne import is_airborne
from menus.kitchen.carryover import carry_over
from menus.kitchen.cleaning import UnknownMethod
from menus.kitchen.events import Clean, Event, How, Reserve, Stay, Use
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts, UnknownSurface
from menus.kitchen.things import arrived, leaves, origin, way
from menus.kitchen.trace import UnknownDish
from menus.labels.evidence import ANY, Evidence, Kind, Step

BOARD, FRYER, HANDS, SPOON = 1, 2, 3, 4
SURFACES = {
    BOARD: SurfaceFacts(BOARD, "Board 1", "non_porous"),
    FRYER: SurfaceFacts(FRYER, "Fryer 1", "fryer_oil"),
    HANDS: SurfaceFacts(HANDS, "Hands of the cook", "hands"),
    SPOON: SurfaceFacts(SPOON, "Wooden spoon", "porous"),
}
FIRST, SECOND, THIRD = 1, 2, 3


def dish(name: str, *substances: str) -> tuple[Evidence, ...]:
    """A dish that holds the substances."""
    return tuple(Evidence(each, Kind.NAMED, path=(Step("recipe", name, name),)) for each in substances)


def at(clock: str) -> datetime:
    return datetime.fromisoformat(f"2026-11-25T{clock}")


def carried(events: list[Use | Clean], dishes: dict[int, tuple[Evidence, ...]], to: int) -> set[str]:
    """Substances carried over to one dish."""
    pieces = carry_over(events, SURFACES, dishes)[to]
    return {piece.substance for piece in pieces if piece.kind is Kind.CARRY_OVER}


DISHES = {FIRST: dish("Peanut sandwich", "peanut", "wheat"), SECOND: dish("Jam sandwich", "soy"), THIRD: ()}


@pytest.mark.parametrize(
    ("surface", "method", "carries"),
    [
        (BOARD, "dry_wipe", True),  # XC01: wiping leaves protein (derived)
        (BOARD, "wash_rinse_sanitize", False),  # XC02: FARE cross-contact poster 2020
        (BOARD, "sanitize_only", True),  # XC03: state school handout
        (FRYER, "filter_oil", True),  # XC05: common practice
        (FRYER, "oil_change_and_vat_wash", False),  # XC06: common practice
        (FRYER, "wash_rinse_sanitize", True),  # a method that nobody judged on oil removes nothing from it
        (BOARD, "water_only", True),  # XC10: Perry 2004
        (HANDS, "gel_sanitizer_hands", True),  # XC15: Perry 2004, left on 6 of 12 hands
        (HANDS, "soap_water_hands", False),  # XC16: Perry 2004
        (HANDS, "glove_change_only", True),  # XC17: common practice
        (SPOON, "wash_rinse_sanitize", True),  # XC21: wood does not come clean (s13223-015-0069-x)
        (BOARD, "cook_heat", True),  # Codex CXC 80-2020: heat does not end it
    ],
)
def test_cleaning_between_two_uses(surface: int, method: str, carries: bool) -> None:
    """A cleaning between two uses ends the residue only where it works on that material."""
    events = [Use(at("09:00"), surface, FIRST), Clean(at("09:20"), surface, method), Use(at("09:30"), surface, SECOND)]
    assert carried(events, DISHES, SECOND) == ({"peanut", "wheat"} if carries else set())


def test_no_record_is_no_cleaning() -> None:
    """XC22: no record means not cleaned (design)."""
    events = [Use(at("08:00"), BOARD, FIRST), Use(at("09:00"), BOARD, SECOND)]
    assert carried(events, DISHES, SECOND) == {"peanut", "wheat"}


def test_cleaning_before_the_first_use_does_not_help() -> None:
    """XC23: the cleaning happened before, not between (design)."""
    events = [
        Clean(at("07:50"), BOARD, "wash_rinse_sanitize"),
        Use(at("08:00"), BOARD, FIRST),
        Use(at("09:00"), BOARD, SECOND),
    ]
    assert carried(events, DISHES, SECOND) == {"peanut", "wheat"}


def test_later_use_changes_no_earlier_dish() -> None:
    """XC07: a later use cannot reach an earlier portion."""
    events = [Use(at("10:00"), FRYER, SECOND), Use(at("10:30"), FRYER, FIRST)]
    assert carried(events, DISHES, SECOND) == set()


def test_different_surfaces_do_not_meet() -> None:
    """XC24: no shared equipment, nothing carried."""
    events = [Use(at("10:00"), BOARD, FIRST), Use(at("10:30"), FRYER, SECOND)]
    assert carried(events, DISHES, SECOND) == set()


def test_chain_over_two_surfaces() -> None:
    """XC26: the residue moves on through a second dish and a second surface."""
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:05"), BOARD, THIRD), Use(at("09:05"), SPOON, THIRD)]
    events += [Use(at("09:10"), SPOON, THIRD), Use(at("09:20"), SPOON, SECOND)]
    assert carried(events, DISHES, SECOND) == {"peanut", "wheat"}


def test_use_and_cleaning_at_the_same_minute() -> None:
    """XC32: an order that nobody wrote down is not resolved in favour of the food (design)."""
    events = [
        Use(at("08:00"), BOARD, FIRST),
        Clean(at("09:00"), BOARD, "wash_rinse_sanitize"),
        Use(at("09:00"), BOARD, SECOND),
    ]
    assert carried(events, DISHES, SECOND) == {"peanut", "wheat"}


def test_two_dishes_at_the_same_minute_touch_each_other() -> None:
    """Neither is known to come first."""
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:00"), BOARD, SECOND)]
    assert carried(events, DISHES, SECOND) == {"peanut", "wheat"}
    assert carried(events, DISHES, FIRST) == {"soy"}


def test_unread_stays_unread() -> None:
    """Something that nobody read leaves something that nobody read, not a known substance."""
    dishes = {FIRST: (Evidence(ANY, Kind.NO_LABEL),), SECOND: ()}
    pieces = carry_over([Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND)], SURFACES, dishes)
    assert [piece.kind for piece in pieces[SECOND]] == [Kind.NO_LABEL]


def test_the_chain_names_source_and_surface() -> None:
    """Whoever reads the reason sees which dish left it, and where."""
    pieces = carry_over([Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND)], SURFACES, DISHES)
    peanut = next(piece for piece in pieces[SECOND] if piece.substance == "peanut")
    assert [step.name for step in peanut.path] == ["Peanut sandwich", "09:00", "Board 1"]
    assert peanut.term == "Peanut sandwich"


def test_unknown_method_is_refused_by_name() -> None:
    """A cleaning that the table does not know is an error, never a cleaning."""
    with pytest.raises(UnknownMethod, match="lick"):
        carry_over([Clean(at("09:00"), BOARD, "lick")], SURFACES, DISHES)


def test_what_two_dishes_leave_unread_stays_two_things() -> None:
    """An answer about the words on one label must not settle what the other one left on the same board."""
    words = [
        Evidence(ANY, Kind.UNREAD_WORD, term=name, path=(Step("recipe", name, name), Step("label", name, name)))
        for name in ("a", "b")
    ]
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND), Use(at("09:20"), BOARD, THIRD)]
    pieces = carry_over(events, SURFACES, {FIRST: (words[0],), SECOND: (words[1],), THIRD: ()})[THIRD]
    assert {step.ref for piece in pieces for step in piece.path if step.kind == "label"} == {"a", "b"}


NUTS = (Evidence("tree-nut", Kind.NAMED, path=(Step("recipe", "1", "Cake"), Step("label", "7", "Flour"))),)
FLAVOUR = Evidence("milk", Kind.MAY_DERIVE, term="natural flavor", path=(Step("recipe", "2", "Ice"),))


def after(events: list[Event], dishes: dict[int, Pieces], to: int, names: dict[int, str] | None = None) -> Pieces:
    return carry_over(events, SURFACES, dishes, names)[to]


def test_the_whole_way_is_told_with_its_times() -> None:
    """Where it began, and by which dish it came on."""
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:05"), BOARD, THIRD), Use(at("09:30"), SPOON, THIRD)]
    events += [Use(at("10:00"), SPOON, SECOND)]
    piece = next(piece for piece in after(events, DISHES, SECOND, {THIRD: "Apple"}) if piece.substance == "peanut")
    assert way(piece) == "on Board 1 at 09:00, by “Apple” on Wooden spoon at 09:30"
    assert origin(piece) == (Step("recipe", "Peanut sandwich", "Peanut sandwich"),)


def test_another_day_is_told_with_its_date() -> None:
    """What lay in the oil overnight."""
    events = [Use(datetime.fromisoformat("2026-11-24T10:00"), FRYER, FIRST), Use(at("10:00"), FRYER, SECOND)]
    assert {step.name for step in after(events, DISHES, SECOND)[-1].path if step.kind == "at"} == {"2026-11-24 10:00"}


def test_two_dishes_with_it_are_two_reasons() -> None:
    """An allowance about the label of one must not settle what the other left on the same board."""
    other = (Evidence("tree-nut", Kind.NAMED, path=(Step("recipe", "3", "Pie"), Step("label", "8", "Paste"))),)
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND), Use(at("09:20"), BOARD, THIRD)]
    pieces = after(events, {FIRST: NUTS, SECOND: other, THIRD: ()}, THIRD)
    assert {step.ref for piece in pieces for step in piece.path if step.kind == "label"} == {"7", "8"}


def test_its_own_food_coming_back_is_no_carry_over() -> None:
    """The same dish, and another serving of the same recipe, leave nothing new on the board."""
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, FIRST), Use(at("09:20"), BOARD, SECOND)]
    assert carry_over(events, SURFACES, {FIRST: NUTS, SECOND: NUTS}) == {FIRST: NUTS, SECOND: NUTS}


def test_what_another_dish_has_too_is_carried_all_the_same() -> None:
    """A child may be allowed the milk baked in a muffin, and not the milk that a pudding left on the spoon."""
    pudding = (Evidence("milk", Kind.NAMED, path=(Step("recipe", "3", "Pudding"),)),)
    pieces = after(
        [Use(at("09:00"), SPOON, FIRST), Use(at("09:10"), SPOON, SECOND)], {FIRST: pudding, SECOND: NUTS}, SECOND
    )
    assert [piece.kind for piece in pieces] == [Kind.NAMED, Kind.CARRY_OVER]


def test_a_doubt_keeps_its_question_on_the_way() -> None:
    """Whoever may have natural flavor may have the dish that it was carried to; named milk is carried as milk."""
    milk = Evidence("milk", Kind.NAMED, path=(Step("recipe", "4", "Shake"),))
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND), Use(at("09:20"), BOARD, THIRD)]
    pieces = after(events, {FIRST: (FLAVOUR,), SECOND: (milk,), THIRD: ()}, THIRD)
    assert [(piece.kind, piece.term) for piece in pieces] == [
        (Kind.MAY_DERIVE, "natural flavor"),
        (Kind.CARRY_OVER, "Shake"),
    ]


def test_of_two_pieces_that_say_the_same_the_surer_is_left() -> None:
    """A label that names milk and warns of it leaves milk once."""
    said = [Evidence("milk", kind, path=(Step("label", "7", "Bar"),)) for kind in (Kind.MAY_CONTAIN, Kind.NAMED)]
    assert leaves(said) == (said[1],)
    assert leaves([FLAVOUR, replace(FLAVOUR, term="spice")]) == (FLAVOUR, replace(FLAVOUR, term="spice"))


@pytest.mark.parametrize("how", list(How))
@pytest.mark.parametrize("kind", list(Kind))
def test_nothing_grows_graver_on_the_way(kind: Kind, how: How) -> None:
    """Whatever arrives is at most as sure as what was left."""
    piece = Evidence("milk", kind)
    assert arrived(piece, how, ()).level <= piece.level


def test_a_portion_is_the_same_food() -> None:
    """Set apart, it has what its dish has by then, and is spared what comes later."""
    events = [Use(at("09:00"), BOARD, FIRST), Reserve(at("08:00"), THIRD, 9), Use(at("09:10"), BOARD, THIRD)]
    result = carry_over(events, SURFACES, {FIRST: NUTS, THIRD: (FLAVOUR,)})
    assert result[9] == (FLAVOUR,)
    assert [piece.kind for piece in result[THIRD]] == [Kind.MAY_DERIVE, Kind.CARRY_OVER]


def test_what_nobody_described_is_refused() -> None:
    """By its id, rather than left out."""
    with pytest.raises(UnknownDish, match="77"):
        carry_over([Use(at("09:00"), BOARD, 77)], SURFACES, DISHES)
    with pytest.raises(UnknownSurface, match="88"):
        carry_over([Use(at("09:00"), 88, FIRST)], SURFACES, DISHES)


def test_a_stay_cannot_end_before_it_begins() -> None:
    """Two times that were exchanged are no empty stay."""
    with pytest.raises(ValueError, match="exchange the two times"):
        Stay(at("10:00"), at("09:00"), BOARD, FIRST, How.TOUCH)


@pytest.mark.parametrize(
    ("substance", "flies"),
    [("fish.cod", True), ("seafood", True), ("wheat", True), ("gluten", True), (ANY, True), ("peanut", False)],
)
def test_what_the_air_carries(substance: str, flies: bool) -> None:
    """What the sources speak of, its members, and a group that it may be."""
    assert is_airborne(substance) == flies
