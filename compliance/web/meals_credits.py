"""What a dish credits, in words."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from compliance.web.meals_said import counted
from menus.mealpattern.patterns.tables import units

NAMES = {
    "meat_alternate": "meat or meat alternate",
    "meat_alternate.beans_peas_lentils": "beans, peas and lentils as meat alternate",
    "vegetables": "vegetables, subgroup not known",
    "vegetables.beans_peas_lentils": "beans, peas and lentils as vegetable",
    "vegetables.red_orange": "red and orange vegetables",
    "vegetables.other": "other vegetables",
}
"""Components whose code does not read as a name."""


def credit_lines(credits: Mapping[str, Fraction], scheme: str) -> list[str]:
    """Return each credit as a line, in the order of the scheme; nothing for what credits nothing."""
    order = units(scheme)
    known = sorted((name for name in credits if credits[name]), key=lambda name: list(order).index(name))
    return [f"{component_words(name)}: {counted(credits[name], order[name])}" for name in known]


def component_words(name: str) -> str:
    """Return a component as people say it: “dark green vegetables”, “milk”."""
    whole, _, part = name.partition(".")
    said = f"{part} {whole}" if whole == "vegetables" and part else part or whole
    return NAMES.get(name, said.replace("_", " "))
