"""Reference doses and the levels that follow from them, against published examples."""

from __future__ import annotations

from decimal import Decimal

import pytest

from menus.kitchen.dose import Basis, action_level, dose_of, estimate
from tests.external.published import published

EXAMPLES = published("action_levels.csv")
IDS = [example["id"] for example in EXAMPLES]


@pytest.mark.parametrize("example", EXAMPLES, ids=IDS)
def test_the_level_is_the_dose_over_the_serving(example: dict[str, str]) -> None:
    """Dose in mg of protein, divided by the serving in kg."""
    level = action_level(Decimal(example["dose_mg"]), Decimal(example["serving_g"]))
    assert level == Decimal(example["computed_mg_per_kg"])


@pytest.mark.parametrize("example", EXAMPLES, ids=IDS)
def test_the_printed_level_agrees(example: dict[str, str]) -> None:
    """The opinion prints doses rounded to 0.1 mg and levels to 0.1 mg/kg: no further than these two roundings away."""
    if not example["published_mg_per_kg"]:
        assert dose_of(example["substance"]).mg == Decimal(example["dose_mg"])  # ours, from FAO/WHO
        return
    dose, serving = Decimal(example["dose_mg"]), Decimal(example["serving_g"])
    rounding = action_level(Decimal("0.05"), serving) + Decimal("0.05")
    assert abs(action_level(dose, serving) - Decimal(example["published_mg_per_kg"])) <= rounding


@pytest.mark.parametrize("example", [each for each in EXAMPLES if not each["published_mg_per_kg"]])
def test_at_the_level_a_serving_brings_the_dose(example: dict[str, str]) -> None:
    """The estimate is the same sum the other way round."""
    ppm, serving = Decimal(example["computed_mg_per_kg"]), Decimal(example["serving_g"])
    assert estimate(example["substance"], ppm, serving, Basis.PROTEIN).ratio == 1
