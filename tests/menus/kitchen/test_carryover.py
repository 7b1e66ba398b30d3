"""What is carried from dish to dish over shared surfaces.

The named cases follow a table of 36 kitchen situations from public guidance; the basis stands beside each.
"""

from __future__ import annotations

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.kitchen.carryover import Clean, SurfaceFacts, Use, carry_over
from menus.kitchen.cleaning import UnknownMethod
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
    assert [step.name for step in peanut.path] == ["Peanut sandwich", "Board 1"]
    assert peanut.term == "Peanut sandwich"


def test_unknown_method_is_refused_by_name() -> None:
    """A cleaning that the table does not know is an error, never a cleaning."""
    with pytest.raises(UnknownMethod, match="lick"):
        carry_over([Clean(at("09:00"), BOARD, "lick")], SURFACES, DISHES)


EVENTS = st.lists(
    st.one_of(
        st.builds(Use, st.datetimes(), st.sampled_from(list(SURFACES)), st.sampled_from([1, 2, 3])),
        st.builds(
            Clean,
            st.datetimes(),
            st.sampled_from(list(SURFACES)),
            st.sampled_from(["wash_rinse_sanitize", "dry_wipe", "oil_change_and_vat_wash", "soap_water_hands"]),
        ),
    ),
    max_size=12,
)


def substances(events: list[Use | Clean]) -> dict[int, set[str]]:
    return {key: {piece.substance for piece in pieces} for key, pieces in carry_over(events, SURFACES, DISHES).items()}


@given(EVENTS, st.datetimes(), st.sampled_from(list(SURFACES)), st.sampled_from([1, 2, 3]))
def test_adding_a_use_never_removes_evidence(
    events: list[Use | Clean], when: datetime, surface: int, which: int
) -> None:
    """Design section 2, item 3."""
    before, after = substances(events), substances([*events, Use(when, surface, which)])
    assert all(before[key] <= after[key] for key in before)


@given(EVENTS.filter(lambda events: any(isinstance(event, Clean) for event in events)))
def test_dropping_a_cleaning_never_removes_evidence(events: list[Use | Clean]) -> None:
    """Design section 2, item 3: losing a record of cleaning is never milder."""
    without = [event for event in events if event is not next(each for each in events if isinstance(each, Clean))]
    before, after = substances(events), substances(without)
    assert all(before[key] <= after[key] for key in before)


@given(EVENTS)
def test_order_of_the_list_does_not_matter(events: list[Use | Clean]) -> None:
    """The clock decides, not the order in which steps were typed in."""
    assert substances(events) == substances(list(reversed(events)))


def test_what_two_dishes_leave_unread_stays_two_things() -> None:
    """An answer about the words on one label must not settle what the other one left on the same board."""
    words = [
        Evidence(ANY, Kind.UNREAD_WORD, term=name, path=(Step("recipe", name, name), Step("label", name, name)))
        for name in ("a", "b")
    ]
    events = [Use(at("09:00"), BOARD, FIRST), Use(at("09:10"), BOARD, SECOND), Use(at("09:20"), BOARD, THIRD)]
    pieces = carry_over(events, SURFACES, {FIRST: (words[0],), SECOND: (words[1],), THIRD: ()})[THIRD]
    assert {step.ref for piece in pieces for step in piece.path if step.kind == "label"} == {"a", "b"}
