"""How much a serving would bring: information beside the reference dose."""

from __future__ import annotations

from decimal import Decimal

import pytest

from menus.kitchen.dose import CAUTIONS, Basis, dose_of, doses, estimate
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance

TEN, FIFTY = Decimal(10), Decimal(50)


def test_the_formula_is_shown_with_its_sum() -> None:
    """20 ppm of peanut, of which 25.8 % is protein (USDA SR28), in 50 g."""
    found = estimate("peanut", Decimal(20), FIFTY, Basis.FOOD)
    assert (found.mg, found.ratio) == (Decimal("0.258"), Decimal("0.129"))
    assert found.formula == (
        "20 mg/kg × 50 g ÷ 1,000 × 0.258 = 0.258 mg of protein (peanut); ÷ 2 mg = 0.129 of the reference dose."
    )
    assert any("25.80 %" in caution and "USDA" in caution for caution in found.cautions)


def test_unknown_parts_count_as_protein() -> None:
    """Nobody said what the parts are of: the most that they can be, and the question."""
    unknown, food = estimate("peanut", TEN, FIFTY), estimate("peanut", TEN, FIFTY, Basis.FOOD)
    assert unknown.mg == estimate("peanut", TEN, FIFTY, Basis.PROTEIN).mg > food.mg
    assert any("Ask the supplier" in caution for caution in unknown.cautions)


@pytest.mark.parametrize("substance", sorted(doses()))
def test_every_answer_carries_its_cautions(substance: str) -> None:
    """And no word of it says that the food may be eaten."""
    found = estimate(substance, TEN, FIFTY)
    assert found.cautions[: len(CAUTIONS)] == CAUTIONS
    said = " ".join((found.formula, *found.cautions)).casefold()
    assert not any(word in said for word in ("safe", "allergy-free", "ok to eat", "cleared", "guarantee"))


@pytest.mark.parametrize(
    ("substance", "has"),
    [
        ("crustacean.crab", "crustacean"),  # the group's dose
        ("tree-nut.black-walnut", "tree-nut.walnut"),
        ("gluten", "gluten"),
        ("wheat", "wheat"),
        ("barley", None),  # gluten's is in mg of gluten, and for coeliac disease
        ("tree-nut", None),  # only members have one
        ("kiwi", None),
    ],
)
def test_whose_dose_it_is(substance: str, has: str | None) -> None:
    """A member has its group's; a group has none by its members."""
    dose = dose_of(substance)
    assert (dose.substance if dose else None) == has


@pytest.mark.parametrize("substance", ["oat", "mollusc", "tree-nut"])
def test_without_a_dose_there_is_no_ratio(substance: str) -> None:
    """The amount is told, and that there is nothing to compare it with."""
    found = estimate(substance, TEN, FIFTY)
    assert (found.mg, found.ratio) == (Decimal("0.5"), None)
    assert "no reference dose" in found.formula


def test_every_dose_is_of_a_substance_and_has_its_source() -> None:
    """Provisional and missing doses say so."""
    for code, dose in doses().items():
        assert code in Catalogue.load()
        assert dose.source and dose.verified in ("read", "memory")
        assert (dose.mg is None) == dose.status.startswith("none")
        assert (dose.protein_percent is None) == (not dose.protein_source)


@pytest.mark.parametrize(("ppm", "grams"), [("-1", "50"), ("10", "0"), ("NaN", "50"), ("10", "Infinity")])
def test_what_is_no_amount_is_refused(ppm: str, grams: str) -> None:
    """The sentence says what to give."""
    with pytest.raises(ValueError, match="Give ppm of 0 or more"):
        estimate("milk", Decimal(ppm), Decimal(grams))


def test_an_unknown_substance_is_refused() -> None:
    """With the nearest ones that there are."""
    with pytest.raises(UnknownSubstance, match="peanut"):
        estimate("peanutt", TEN, FIFTY)
