"""The catalogue: its graph, its names, what it refuses."""

from __future__ import annotations

import pytest

from menus.substances.catalogue import Catalogue, Substance
from menus.substances.errors import UnknownSubstance

CATALOGUE = Catalogue.load()


def substance(code: str, *member_of: str, also_called: tuple[str, ...] = ()) -> Substance:
    return Substance(code, code, also_called, "food", member_of, (), (), "invented for this test", "memory")


def test_the_us_nine_have_their_codes() -> None:
    """The codes other packages rely on."""
    nine = ["milk", "egg", "fish", "crustacean", "tree-nut", "wheat", "peanut", "soy", "sesame"]
    assert all(CATALOGUE.get(code).kind == "group" for code in nine)


@pytest.mark.parametrize(
    ("code", "group"),
    [
        ("tree-nut.cashew", "tree-nut"),
        ("tree-nut.black-walnut", "tree-nut"),
        ("wheat", "gluten"),
        ("wheat.spelt", "gluten"),
        ("wheat.triticale", "rye"),
        ("barley", "gluten"),
        ("gelatin.pork", "pork"),
        ("gelatin.pork", "gelatin"),
        ("pork", "meat"),
        ("lard", "meat"),
        ("milk.goat", "milk"),
        ("fish.cod", "animal"),
    ],
)
def test_members_reach_their_groups(code: str, group: str) -> None:
    """Member-of holds through every step up, and the way down is the same way."""
    assert group in CATALOGUE.ancestors(code)
    assert code in CATALOGUE.descendants(group)


@pytest.mark.parametrize(
    ("code", "group"),
    [
        ("coconut", "tree-nut"),
        ("oat", "gluten"),
        ("rye", "wheat"),
        ("buckwheat", "wheat"),
        ("mollusc", "crustacean"),
        ("peanut", "tree-nut"),
        ("butternut", "tree-nut"),
    ],
)
def test_look_alikes_are_no_members(code: str, group: str) -> None:
    """A name or a kinship is not membership."""
    assert group not in CATALOGUE.ancestors(code)


def test_carriers_are_not_members() -> None:
    """Oats may carry gluten and milk may carry lactose; a gelatin that names its animal carries no other."""
    assert "oat" in CATALOGUE.carriers("gluten")
    assert {"milk", "milk.goat"} <= CATALOGUE.carriers("lactose")
    assert "gelatin" in CATALOGUE.carriers("pork")
    assert "gelatin.beef" not in CATALOGUE.carriers("pork")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Prawn", "crustacean.shrimp"),
        ("  GROUNDNUT ", "peanut"),
        ("soya", "soy"),
        ("tree-nut.cashew", "tree-nut.cashew"),
        ("Cashew", "tree-nut.cashew"),
        ("celiac", "gluten"),
        ("kiwifruit", "kiwi"),
    ],
)
def test_names_resolve(text: str, code: str) -> None:
    """A name is found whatever its case and spacing."""
    assert CATALOGUE.resolve(text).code == code


@pytest.mark.parametrize("find", [CATALOGUE.get, CATALOGUE.resolve, CATALOGUE.ancestors, CATALOGUE.descendants])
def test_an_unknown_substance_is_refused_with_the_nearest(find: object) -> None:
    """The error says what was asked, why nothing was found, and what may have been meant."""
    with pytest.raises(UnknownSubstance, match=r"'cashw'.*Did you mean .*tree-nut\.cashew.*Use a code") as caught:
        find("cashw")  # type: ignore[operator]
    assert "tree-nut.cashew" in caught.value.nearest


def test_an_unknown_substance_like_nothing_is_refused_plainly() -> None:
    """No guess is offered where none is near."""
    with pytest.raises(UnknownSubstance) as caught:
        CATALOGUE.resolve("zzzzzzzzzz")
    assert caught.value.nearest == ()
    assert "Did you mean" not in str(caught.value)


def test_a_cycle_is_refused_with_its_path() -> None:
    """A graph that goes round names the way round."""
    with pytest.raises(ValueError, match="a > b > a is a cycle"):
        Catalogue.build([substance("a", "b"), substance("b", "a")], [])


def test_a_missing_parent_is_refused() -> None:
    """A member of nothing names both sides."""
    with pytest.raises(ValueError, match="a is a member of b, which has no row"):
        Catalogue.build([substance("a", "b")], [])


def test_a_name_two_substances_claim_is_refused() -> None:
    """Two holders of one name are both named."""
    with pytest.raises(ValueError, match="both a and b are called 'x'"):
        Catalogue.build([substance("a", also_called=("x",)), substance("b", also_called=("x",))], [])


def test_every_row_says_where_it_comes_from() -> None:
    """Each substance has a source and says whether it was read."""
    assert all(entry.source and entry.verified in {"read", "memory"} for entry in CATALOGUE)
