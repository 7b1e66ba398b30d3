"""The exponent of growth, against curves whose exponent is known."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.benchmarks.growth import PARTS, exponent, grown


@pytest.mark.parametrize("power", [0.5, 1.0, 2.0])
def test_the_exponent_of_a_power_is_that_power(power: float) -> None:
    """Whatever stands before it: y = 3 x^p is a straight line of slope p in logarithms."""
    sizes = [10, 20, 40, 80]
    assert exponent(sizes, [3 * size**power for size in sizes]) == pytest.approx(power)


def test_children_and_dishes_are_told_apart() -> None:
    """A night that takes twice as long for twice the children, and four times as long for twice the dishes."""

    def night(children: int, dishes: int) -> dict[str, Any]:
        spent = children * dishes**2 / 100
        return {
            "on": {},
            "counts": {"served": 200 * dishes},
            "seconds": dict.fromkeys(PARTS, spent),
        }

    told = grown(400, night)
    assert told["children"]["sizes"] == [100, 200, 400]
    assert told["dishes"]["sizes"] == [200, 400, 800]
    assert told["children"]["exponents"]["run"] == 1.0
    assert told["dishes"]["exponents"]["run"] == 2.0
