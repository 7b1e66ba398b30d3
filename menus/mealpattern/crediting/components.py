"""What a food counts as in a meal."""

from __future__ import annotations

from enum import StrEnum


class Component(StrEnum):
    """What a food counts as."""

    DARK_GREEN = "dark_green"
    RED_ORANGE = "red_orange"
    LEGUME = "legume"  # beans, peas and lentils: vegetable or meat alternate, once
    STARCHY = "starchy"
    OTHER = "other_veg"
    FRUIT = "fruit"
    MILK = "milk"
    GRAINS = "grains"
    MEAT = "meat"
    ALTERNATE = "meat_alternate"

    @property
    def unit(self) -> str:
        return "oz eq" if self in {Component.GRAINS, Component.MEAT, Component.ALTERNATE} else "cup"

    @property
    def said(self) -> str:
        return _SAID[self]


_SAID = {
    Component.DARK_GREEN: "dark green vegetable",
    Component.RED_ORANGE: "red and orange vegetable",
    Component.LEGUME: "beans, peas and lentils",
    Component.STARCHY: "starchy vegetable",
    Component.OTHER: "other vegetable",
    Component.FRUIT: "fruit",
    Component.MILK: "milk",
    Component.GRAINS: "grains",
    Component.MEAT: "meat",
    Component.ALTERNATE: "meat alternate",
}

VEGETABLES = (Component.DARK_GREEN, Component.RED_ORANGE, Component.STARCHY, Component.OTHER)
"""The subgroups that are nothing but vegetable."""
