"""Amino-acid score and PDCAAS against worked examples of FAO/WHO and others, and what must stay unknown."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from django.conf import settings as settings_of_django
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.aminos import AMINO_ACIDS, Reference, foods, reference_for, references
from menus.mealpattern.protein import Part, complement, part, score

unhurried = settings(deadline=None)  # a busy machine is no fault of the rules

SHORT = {"lys": "lysine", "saa": "methionine_cysteine", "thr": "threonine", "trp": "tryptophan", "his": "histidine",
         "ile": "isoleucine", "leu": "leucine", "aaa": "phenylalanine_tyrosine", "val": "valine"}  # fmt: skip
PLENTY = dict.fromkeys(AMINO_ACIDS, Fraction(200))


def reference(standard: str, months: int = 48) -> Reference:
    found = reference_for(months, standard)
    assert found is not None
    return found


def protein(name: str, grams: float, digested: float | None, **aminos: float) -> Part:
    """A part with more than enough of every amino acid that is not given."""
    given_aminos = {SHORT[key]: Fraction(str(value)) for key, value in aminos.items()}
    digestibility = None if digested is None else Fraction(str(digested))
    return Part(name, Fraction(str(grams)), PLENTY | given_aminos, digestibility)


WHEAT = protein("wheat", 45.5, 0.85, lys=25, saa=35, thr=30, trp=11)
CHICKPEA = protein("chickpea", 33, 0.80, lys=70, saa=25, thr=42, trp=13)
MILK = protein("milk powder", 17, 0.95, lys=80, saa=30, thr=37, trp=12)


def test_mixture_of_wheat_chickpea_and_milk() -> None:
    """FAO/WHO 1991, worked example (composition from memory): score 0.87, digestibility 0.85, PDCAAS 0.74."""
    found = score([WHEAT, CHICKPEA, MILK], reference("fao-1991"))
    assert found.limiting == "lysine"
    assert float(found.amino_acid_score or 0) == pytest.approx(0.868, abs=0.001)
    assert float(found.digestibility or 0) == pytest.approx(0.851, abs=0.001)
    assert float(found.pdcaas or 0) == pytest.approx(0.738, abs=0.001)
    ratios = {"methionine_cysteine": 1.226, "threonine": 1.041, "tryptophan": 1.079}
    assert {amino: float(found.ratios[amino]) for amino in ratios} == pytest.approx(ratios, abs=0.002)


def test_wheat_alone() -> None:
    """25 / 58 x 0.85 = 0.366 (FAO/WHO 1991 example); whole wheat with 26 mg/g scores 0.448 (table reprint)."""
    assert float(score([WHEAT], reference("fao-1991")).pdcaas or 0) == pytest.approx(0.366, abs=0.001)
    whole = score([protein("whole wheat", 10, None, lys=26)], reference("fao-1991"))
    assert float(whole.amino_acid_score or 0) == pytest.approx(0.448, abs=0.001)
    assert (whole.limiting, whole.pdcaas) == ("lysine", None)


@pytest.mark.parametrize(("wheat", "chickpea", "expected"), [(50, 50, 1.0), (75, 25, 0.771), (100, 0, 0.542)])
def test_complementing_by_share_of_protein(wheat: float, chickpea: float, expected: float) -> None:
    """Wheat 26 and chickpea 70 mg of lysine against 48 (FAO 2013, over 3 years): 48/48, 37/48, 26/48."""
    parts = [protein("wheat", wheat, None, lys=26, saa=35), protein("chickpea", chickpea, None, lys=70, saa=25)]
    assert float(score(parts, reference("fao-2013")).amino_acid_score or 0) == pytest.approx(expected, abs=0.001)


COMPOSITION = {  # FAO/WHO/UNU 1985, table reprint, mg per g of protein
    "egg": (97, {"his": 22, "ile": 54, "leu": 86, "lys": 70, "saa": 57, "aaa": 93, "thr": 47, "trp": 17, "val": 66}),
    "milk": (95, {"his": 27, "ile": 47, "leu": 95, "lys": 78, "saa": 33, "aaa": 102, "thr": 44, "trp": 14, "val": 64}),
    "beef": (94, {"his": 34, "ile": 48, "leu": 81, "lys": 89, "saa": 40, "aaa": 80, "thr": 46, "trp": 12, "val": 50}),
}  # fmt: skip


@pytest.mark.parametrize(
    ("food", "standard", "ratio", "limiting"),
    [
        ("egg", "fao-1991", 1.158, "histidine"),
        ("milk", "fao-1991", 1.273, "tryptophan"),
        ("beef", "fao-1991", 1.091, "tryptophan"),
        ("egg", "fao-2013", 1.375, "histidine"),
        ("milk", "fao-2013", 1.435, "methionine_cysteine"),
        ("beef", "fao-2013", 1.250, "valine"),
    ],
)
def test_single_foods(food: str, standard: str, ratio: float, limiting: str) -> None:
    """All above one; the ratio stays as it is for mixtures, and PDCAAS is cut at one."""
    digested, aminos = COMPOSITION[food]
    found = score([protein(food, 10, digested / 100, **aminos)], reference(standard))
    assert (float(found.amino_acid_score or 0), found.limiting) == (pytest.approx(ratio, abs=0.001), limiting)
    assert found.pdcaas == min(1, (found.amino_acid_score or 0) * Fraction(digested, 100)) and found.complete is True


def test_hulled_hemp_seed_alone() -> None:
    """House, Neufeld and Leson 2010: lysine limits, PDCAAS 63 to 66 % (2-5 years); ours from USDA SR28 composition.

    Common practice calls it complete by itself; the numbers say that it lacks lysine.
    """
    found = score([part(foods()["hulled hemp seed"], 30)], reference("fao-1991"))
    assert found.limiting == "lysine" and found.complete is False
    assert float(found.pdcaas or 0) == pytest.approx(0.645, abs=0.04)


@pytest.mark.parametrize("standard", ["fao-1991", "fao-2013", "iom-2005"])
def test_whole_wheat_muffin_with_sunflower_seed_butter(standard: str) -> None:
    """Common practice says that the two complete each other; both lack lysine, so neither makes up for the other."""
    pair = complement(
        [part(foods()["whole-wheat English muffin"], 66), part(foods()["sunflower seed butter"], 32)],
        reference(standard),
    )
    assert {each.limiting for each in pair.alone} == {pair.together.limiting} == {"lysine"}
    assert (pair.helps, pair.together.complete) == (False, False)


@pytest.mark.parametrize("other", ["1% milk", "lentils, boiled", "kidney beans, boiled"])
def test_what_does_complete_the_muffin(other: str) -> None:
    """Milk, lentils and beans bring the lysine that wheat lacks."""
    pair = complement(
        [part(foods()["whole-wheat English muffin"], 66), part(foods()[other], 120)], reference("fao-2013")
    )
    assert pair.helps is True and pair.together.complete is True


def test_what_is_not_stated_is_unknown_and_not_zero() -> None:
    """Tryptophan not stated: no score, but lysine says that it is no more than 0.431."""
    aminos = {amino: amount for amino, amount in WHEAT.aminos.items() if amino != "tryptophan"}
    found = score([Part("wheat", Fraction(10), aminos, Fraction(1))], reference("fao-1991"))
    assert (found.unknown, found.amino_acid_score, found.pdcaas) == (("tryptophan",), None, None)
    assert (found.at_most, found.complete) == (Fraction(25, 58), False)
    assert complement([WHEAT, Part("x", Fraction(1), {}, None)], reference("fao-1991")).helps is None


def test_a_food_whose_amino_acids_the_table_lacks_stays_unknown() -> None:
    """USDA SR28 has none for this white bread."""
    found = score([part(foods()["white bread"], 50)], reference("fao-2013"))
    assert (found.unknown, found.at_most, found.complete) == (AMINO_ACIDS, None, None)


def test_no_protein_has_no_score() -> None:
    """Undefined, and not zero; a part without protein changes nothing for the others."""
    nothing = Part("water", Fraction(0), {}, None)
    assert score([nothing], reference("fao-2013")).amino_acid_score is None
    assert score([WHEAT, nothing], reference("fao-2013")) == score([WHEAT], reference("fao-2013"))


def test_figures_that_look_like_a_slip_are_named() -> None:
    """Half of a protein's amino acids missing, as in some dairy rows of the USDA table."""
    half = Part("cheese", Fraction(5), {amino: Fraction(25) for amino in AMINO_ACIDS}, None)
    assert score([half, WHEAT], reference("fao-2013")).doubtful == ("cheese", "wheat")


@pytest.mark.parametrize("name", sorted(foods()))
def test_no_food_of_ours_looks_like_a_slip(name: str) -> None:
    food = foods()[name]
    assert not part(food, 100).doubtful
    assert food.source and food.verified == "read"


@pytest.mark.parametrize(
    ("months", "ages"),
    [
        (None, "0-6 months"),
        (5, "0-6 months"),
        (6, "6 months-3 years"),
        (35, "6 months-3 years"),
        (36, "over 3 years"),
        (200, "over 3 years"),
    ],
)
def test_the_pattern_of_the_youngest(months: int | None, ages: str) -> None:
    """FAO 2013; nobody's birth date is taken for an old one."""
    found = reference_for(months)
    assert found is not None and found.ages.startswith(ages)


def test_an_age_without_a_pattern_has_none() -> None:
    """The pattern of 1991 is for every age but infancy."""
    assert reference_for(6, "fao-1991") is None


def test_every_reference_names_its_source() -> None:
    assert {each.verified for each in references()} == {"read", "memory"} and all(each.source for each in references())


def tenths(least: int, most: int) -> st.SearchStrategy[Fraction]:
    return st.integers(10 * least, 10 * most).map(lambda number: Fraction(number, 10))


PARTS = st.lists(
    st.builds(
        Part,
        st.just("food"),
        tenths(0, 50),
        st.fixed_dictionaries(dict.fromkeys(AMINO_ACIDS, tenths(1, 150))),
        tenths(0, 1),
    ),
    min_size=1,
    max_size=4,
)


@unhurried
@given(PARTS)
def test_order_and_size_of_the_meal_never_matter(parts: list[Part]) -> None:
    """The same shares of protein give the same score."""
    twice = [Part(each.name, 2 * each.protein_g, each.aminos, each.digestibility) for each in reversed(parts)]
    one, other = score(parts, reference("fao-2013")), score(twice, reference("fao-2013"))
    assert (one.ratios, one.pdcaas) == (other.ratios, other.pdcaas)


@unhurried
@given(PARTS)
def test_a_mixture_lies_between_its_parts(parts: list[Part]) -> None:
    """No amino acid is made by mixing, and PDCAAS stays within one."""
    pair = complement(parts, reference("fao-2013"))
    for amino, ratio in pair.together.ratios.items():
        alone = [each.ratios[amino] for each in pair.alone]
        assert min(alone) <= ratio <= max(alone)
    assert pair.together.pdcaas is None or 0 <= pair.together.pdcaas <= 1


EATEN = {
    "whole-wheat English muffin, 66 g": {"whole-wheat English muffin": 66},
    "sunflower seed butter, 32 g": {"sunflower seed butter": 32},
    "both": {"whole-wheat English muffin": 66, "sunflower seed butter": 32},
    "hulled hemp seed alone": {"hulled hemp seed": 30},
    "muffin with a cup of 1% milk": {"whole-wheat English muffin": 66, "1% milk": 244},
}
PAGE = Path(settings_of_django.BASE_DIR) / "docs" / "explanation" / "protein-and-milk.md"


@pytest.mark.parametrize("eaten", EATEN)
def test_the_page_shows_these_numbers(eaten: str) -> None:
    """docs/explanation/protein-and-milk.md: FAO 2013, and in brackets the pattern of 1991."""
    parts = [part(foods()[name], grams) for name, grams in EATEN[eaten].items()]
    now, then = score(parts, reference("fao-2013")), score(parts, reference("fao-1991"))
    shown = [
        f"{float(one or 0):.2f} ({float(other or 0):.2f})"
        for one, other in ((now.amino_acid_score, then.amino_acid_score), (now.pdcaas, then.pdcaas))
    ]
    assert f"| {eaten} | {shown[0]} | {now.limiting} | {shown[1]} |" in PAGE.read_text(encoding="utf-8")
