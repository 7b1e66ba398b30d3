"""One food of a week, as it is written down in JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from menus.mealpattern.milk import fat_named
from menus.mealpattern.patterns.tables import component_names
from menus.mealpattern.patterns.week import Food
from menus.substances.names import comparable

TAGS = ("whole_grain_rich", "juice", "dessert", "flavored", "wholegrain", "cooked_in_fat", "meat_product")
PRODUCTS = ("breakfast_cereal", "yogurt", "flavored_milk")
KEYS = ("food", "credits", "choice", "nutrients", "product", "weight_g", "milk_fat", *TAGS)
FREE = ("id", "amount", "note", "source")
"""Keys for what people write beside it; nothing reads them."""
NUTRIENTS_TOO = {"calories": "energy_kcal", "kcal": "energy_kcal", "added_sugar_g": "added_sugars_g"}
"""Other names that nutrients go by: unread, they would leave the week unknown for no reason."""
MOST_CREDIT = 100
"""More cups or ounces than a child is ever served: a slip of the key."""
MOST_NUTRIENT = 100_000
_LONG = 60


def read_food(entry: object, where: str, scheme: str | None, faults: list[str]) -> Food | None:
    """Return the food, or None when something of it is wrong and stands in `faults`. `scheme` names its components."""
    if not isinstance(entry, dict):
        faults.append(f"{where} is {said(entry)}, not a food. Write an object with “food” and “credits”.")
        return None
    before = len(faults)
    faults.extend(
        f"{where}: {said(key)} is no key of a food, so it would go unread. Take it out, or mend it to one of "
        f"{', '.join((*KEYS, *FREE))}."
        for key in entry
        if key not in (*KEYS, *FREE)
    )
    name = entry.get("food")
    if not isinstance(name, str) or not name.strip():
        faults.append(f"{where}: “food” is {said(name)}. Write what the food is called.")
        name = ""
    food = Food(
        name=name.strip(),
        credits=dict(_credits(entry.get("credits"), where, scheme, faults)),
        nutrients=dict(_nutrients(entry.get("nutrients"), where, faults)),
        tags=dict(_tags(entry, name, where, faults)),
        product=_one_of(entry.get("product"), "product", PRODUCTS, where, faults),
        weight_g=_weight(entry.get("weight_g"), where, faults),
        milk_fat=_milk_fat(entry.get("milk_fat"), where, faults),
        choice=_choice(entry.get("choice"), where, faults),
    )
    return food if len(faults) == before else None


def said(value: object) -> str:
    """Return a value as it stands in the file, cut where it is long."""
    if value is None:
        return "missing"
    if isinstance(value, list | dict):
        return "a list" if isinstance(value, list) else "an object"
    if isinstance(value, int) and abs(value) >= 10**_LONG:
        return "a number of too many digits"  # which Python may refuse to write out
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _LONG else text[:_LONG] + "…"


def plain(name: str) -> str:
    """Return a name without what differs from hand to hand: case, blanks, kinds of dash."""
    return re.sub(r"[‐-―−]", "-", name.strip().casefold())


def _credits(value: object, where: str, scheme: str | None, faults: list[str]) -> Iterator[tuple[str, Fraction]]:
    if not isinstance(value, dict):
        faults.append(f"{where}: “credits” is {said(value)}. Write {{ … }}, and {{}} for a food that credits nothing.")
        return
    names, seen = component_names(scheme) if scheme else {}, set()
    for key, amount in value.items():
        component = names.get(re.sub(r"[ /-]", "_", plain(key)), str(key))
        if scheme and component not in names:
            known = ", ".join(dict.fromkeys(names.values()))
            faults.append(f"{where}: {said(key)} is no component. Write one of {known}.")
        elif component in seen:
            faults.append(f"{where}: {said(key)} credits {component} twice. Write one amount for it.")
        seen.add(component)
        number = _number(amount, f"{where}: credit {said(key)}", MOST_CREDIT, faults)
        if number is not None:
            yield component, number


def _nutrients(value: object, where: str, faults: list[str]) -> Iterator[tuple[str, Fraction]]:
    """Yield what is stated; null is not stated."""
    if value is None:
        return
    if not isinstance(value, dict):
        faults.append(f"{where}: “nutrients” is {said(value)}. Write {{ … }} with amounts as served, or leave it out.")
        return
    seen: set[str] = set()
    for key, amount in value.items():
        name = NUTRIENTS_TOO.get(str(key), str(key))
        if name in seen:
            faults.append(f"{where}: {said(key)} states {name} twice. Write one amount for it.")
        seen.add(name)
        number = None if amount is None else _number(amount, f"{where}: nutrient {said(key)}", MOST_NUTRIENT, faults)
        if number is not None:
            yield name, number


def _tags(entry: dict[str, object], name: str, where: str, faults: list[str]) -> Iterator[tuple[str, bool]]:
    if _is_called_juice(name) and entry.get("juice") is None:
        yield "juice", True
    for tag in TAGS:
        value = entry.get(tag)
        if isinstance(value, bool):
            yield tag, value
        elif value is not None:
            faults.append(
                f"{where}: “{tag}” is {said(value)}. Write true or false, or leave it out where nobody knows."
            )


def _is_called_juice(name: str) -> bool:
    """Return whether a name says juice: “apple juice, 4 fl oz”, and not “peaches in juice”."""
    words = re.split(r"[,(]", name.casefold())[0].split()
    return words[-1:] == ["juice"] and "in" not in words


def _number(value: object, what: str, most: int, faults: list[str]) -> Fraction | None:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        faults.append(f"{what} is {said(value)}, which is no number. Write digits, as in 0.5.")
        return None
    # Looked at before it is made a fraction: a number like 1e999999 must not be written out.
    is_one = not value.is_nan() if isinstance(value, Decimal) else value == value
    if not is_one or not 0 <= value <= most:
        faults.append(f"{what} is {said(value)}, which no serving has. Write a number from 0 to {most}.")
        return None
    return Fraction(str(value)) if value > Decimal("1e-9") else Fraction(0)


def _weight(value: object, where: str, faults: list[str]) -> Fraction | None:
    return None if value is None else _number(value, f"{where}: “weight_g”", MOST_NUTRIENT, faults)


def _one_of(value: object, key: str, known: tuple[str, ...], where: str, faults: list[str]) -> str | None:
    if value is None or (isinstance(value, str) and value in known):
        return value
    faults.append(f"{where}: “{key}” is {said(value)}. Write one of {', '.join(known)}, or leave it out.")
    return None


def _choice(value: object, where: str, faults: list[str]) -> str:
    if value is None or isinstance(value, str):
        return comparable(value or "")
    faults.append(
        f"{where}: “choice” is {said(value)}. Write what it is one choice of, as in “main dish”, or leave it out where "
        "every child is served it."
    )
    return ""


def _milk_fat(value: object, where: str, faults: list[str]) -> str | None:
    if value is None:
        return None
    fat = fat_named(value) if isinstance(value, str) else None
    if fat is None:
        faults.append(f"{where}: “milk_fat” is {said(value)}. Write fat_free, low_fat, reduced_fat or whole.")
    return fat
