"""Invented children are dealt the same every time, at the prevalence the table says."""

from __future__ import annotations

from collections import Counter
from datetime import date
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from compliance.demo.deal import Profile, deal_birthday, deal_names, deal_restrictions
from compliance.demo.people import profiles
from menus.substances.catalogue import Catalogue


def _profile(name: str, per_thousand: int, *, allergy: bool = True) -> Profile:
    return Profile(name, allergy, (("a",), ("b", "c")), per_thousand, "trace", "statement")


def test_every_profile_is_dealt_as_often_as_its_prevalence_says() -> None:
    """Of 260 children, each restriction is met as often as the table says, rounded."""
    hands = deal_restrictions(260, profiles(), Random(1))
    met = Counter(dealt.profile.name for hand in hands for dealt in hand)
    for profile in profiles():
        assert abs(met[profile.name] - 260 * profile.per_thousand / 1000) <= 0.5, profile.name


def test_allergies_meet_in_as_many_children_as_published() -> None:
    """7.6 % have an allergy, and 39.9 % of these more than one (Gupta 2018, Pediatrics 142(6))."""
    hands = deal_restrictions(260, profiles(), Random(1))
    allergic = [hand for hand in hands if any(dealt.profile.allergy for dealt in hand)]
    assert len(allergic) == 20
    assert sum(len(hand) > 1 for hand in allergic) == 8


@given(seed=st.integers(), children=st.integers(min_value=200, max_value=2000))
def test_nobody_is_dealt_the_same_restriction_twice(seed: int, children: int) -> None:
    """Whatever the seed and the size, no child holds one profile twice."""
    for hand in deal_restrictions(children, profiles(), Random(seed)):
        names = [dealt.profile.name for dealt in hand]
        assert len(names) == len(set(names))


def test_variants_come_in_turn() -> None:
    """The first child gets the first variant of a profile, the second the second, and then the first again."""
    hands = deal_restrictions(100, [_profile("x", 30, allergy=False)], Random(1))
    assert sorted(dealt.substances for hand in hands for dealt in hand) == [("a",), ("a",), ("b", "c")]


def test_the_same_seed_deals_the_same() -> None:
    """Two deals with one seed are equal, and another seed deals otherwise."""
    one, same, other = (deal_restrictions(260, profiles(), Random(seed)) for seed in (1, 1, 2))
    assert one == same
    assert one != other


def test_names_are_all_different() -> None:
    """No two children of the demo share a full name."""
    names = deal_names(9, ["A", "B", "C"], ["X", "Y", "Z"], Random(1))
    assert len(set(names)) == 9


@given(st.integers())
def test_birthdays_fit_the_age_in_september(seed: int) -> None:
    """A child is as old on the first of September as its classroom asks."""
    september = date(2027, 9, 1)
    birthday = deal_birthday(5, september, Random(seed))
    assert date(2021, 9, 1) < birthday <= date(2022, 9, 1)


def test_every_substance_of_the_table_is_in_the_catalogue() -> None:
    """A restriction on a substance that nobody knows would protect nobody."""
    for profile in profiles():
        for variant in profile.variants:
            for code in variant:
                Catalogue.load().get(code)
