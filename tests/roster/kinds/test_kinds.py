"""Kinds of restriction, related foods and signers: every row says something that the rest of the service can use."""

from __future__ import annotations

from datetime import date

import pytest

from menus.substances.catalogue import Catalogue
from roster.kinds.kind import Enforced, restriction_kinds
from roster.kinds.related import related, related_to
from roster.kinds.signing import may_sign, statement_parts
from roster.models import Basis, Strictness

KINDS = restriction_kinds()


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_a_kind_can_be_entered(kind) -> None:
    """Its substances, strictness and basis exist, and it says what to ask."""
    for code in kind.substances:
        Catalogue.load().get(code)
    assert kind.strictness in Strictness.values and kind.basis in Basis.values
    assert kind.statement in {"expected", "recommended", "not", "parent"}
    assert kind.verified in {"read", "memory"} and kind.source and kind.ask.endswith((".", "?"))


def test_what_is_not_looked_for_fills_in_no_substance() -> None:
    """Or a child would seem looked after."""
    for kind in KINDS.values():
        if kind.enforced in {Enforced.NOT, Enforced.TEXTURE, Enforced.AGE}:
            assert not kind.substances, kind.code


@pytest.mark.parametrize(
    ("code", "holds", "holds_not"),
    [
        ("coeliac-disease", ["barley", "rye", "wheat"], ["buckwheat", "rice"]),
        ("wheat-allergy", ["wheat", "wheat.spelt"], ["barley", "oat"]),
        ("milk-allergy", ["milk", "milk.goat"], ["coconut", "lactose"]),
        ("lactose-intolerance", ["lactose"], ["milk"]),
        ("tree-nut-allergy", ["tree-nut.cashew"], ["coconut", "peanut"]),
        ("vegetarian", ["pork", "fish.cod", "gelatin.pork"], ["milk", "egg", "honey"]),
        ("vegan", ["milk", "egg", "honey", "carmine", "fish.cod"], ["soy"]),
        ("pescatarian", ["beef", "chicken"], ["fish.cod", "milk"]),
        ("halal", ["pork", "alcohol", "gelatin.pork"], ["beef", "fish.cod"]),
        (
            "kosher",
            ["pork", "crustacean.shrimp", "mollusc.oyster", "fish.catfish", "meat-with-milk"],
            ["fish.cod", "beef", "milk"],
        ),
        ("hindu-no-beef", ["beef"], ["milk", "chicken"]),
        ("jain", ["potato", "onion", "garlic", "egg", "honey"], ["milk", "rice"]),
        ("g6pd-deficiency", ["fava-bean"], ["soy", "lentil"]),
        ("phenylketonuria", ["aspartame"], ["sucrose"]),
        ("latter-day-saints", ["coffee", "tea", "alcohol"], ["cocoa"]),
    ],
)
def test_a_kind_reaches_as_far_as_it_should(code: str, holds: list[str], holds_not: list[str]) -> None:
    """Both ways: what must be covered, and what must not."""
    catalogue = Catalogue.load()
    covered = {each for named in KINDS[code].substances for each in {named} | catalogue.descendants(named)}
    assert set(holds) <= covered
    assert not covered & set(holds_not)


def test_related_foods_are_in_the_catalogue_and_say_whence() -> None:
    """A rate is a percentage, the lower end first."""
    for row in related():
        for code in (row.substance, *row.others):
            Catalogue.load().get(code)
        assert row.source and row.advice and row.verified in {"read", "memory"}
        if row.low is not None and row.high is not None:
            assert 0 <= row.low <= row.high <= 100


def test_published_rates() -> None:
    """J Food Allergy 2020;2(1):17-21, table 2: cashew and pistachio are not the same both ways."""
    (cashew,) = [row for row in related_to("tree-nut.cashew") if "tree-nut.pistachio" in row.others]
    (pistachio,) = [row for row in related_to("tree-nut.pistachio") if "tree-nut.cashew" in row.others]
    assert (cashew.rate, pistachio.rate) == ("34 to 83 %", "97 to 100 %")
    assert not related_to("kiwi")


@pytest.mark.parametrize(
    ("program", "day", "accepted"),
    [
        ("nslp", date(2025, 6, 30), {"prescriber"}),
        ("nslp", date(2025, 7, 1), {"prescriber", "registered-dietitian"}),
        ("cacfp", date(2025, 9, 30), {"prescriber"}),
        ("cacfp", date(2025, 10, 1), {"prescriber", "registered-dietitian"}),
        ("other", date(2026, 1, 1), set()),
    ],
)
def test_who_may_sign(program: str, day: date, accepted: set[str]) -> None:
    """7 CFR 210.10(m)(1)(i), FNS SP 07-2025/CACFP 07-2025: dietitians since July 2025 in schools, October in CACFP."""
    assert {row.signer for row in may_sign(program, day)} == accepted


def test_what_a_statement_must_hold() -> None:
    """FNS SP 59-2016: three elements; the name of the condition is not one of them."""
    assert [row.part for row in statement_parts() if row.needed == "required"] == [
        "impairment",
        "accommodate",
        "omit",
        "signed",
    ]
