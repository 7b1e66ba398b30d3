"""Advice beside a lunchbox, in the language of the page: by age, keeping it cold or hot, balance, protein."""

from __future__ import annotations

from django.utils.translation import gettext

from compliance.checks.lunchbox import BoxAnswer
from compliance.checks.lunchprotein import Protein
from compliance.web.lunchbox_said import food_name
from menus.mealpattern.balance import NOTHING, Advice
from menus.mealpattern.choking import ASK_FORM, ASK_WHETHER
from menus.mealpattern.keeping import Keeping, limits


def age_says(what: str) -> str:
    """What to do about the shape of a food: a sentence of the list, which may stand behind a question."""
    for asked in (ASK_WHETHER, ASK_FORM):
        if what.startswith(asked):
            rest = what.removeprefix(asked).strip()
            return f"{gettext(asked)} {gettext(rest[0].upper() + rest[1:])}"
    return gettext(what)


def balance_says(answer: BoxAnswer) -> list[str]:
    """What the foods of the box balance, each by what it is about; then what could not be counted."""
    called = {food.packed.name: food_name(food.packed) for food in answer.foods}
    silent = dict.fromkeys(called[name] for each in answer.balance for name in each.not_counted)
    said = [f"{gettext(each.what).capitalize()}: {_balance(each)}" for each in answer.balance]
    if silent:
        foods = ", ".join(f"“{name}”" for name in silent)
        said.append(gettext("Not counted, as it is not known what they credit: %(names)s.") % {"names": foods})
    return said


def _balance(advice: Advice) -> str:
    said = []
    if advice.here:
        said.append(gettext("Here: %(names)s.") % {"names": _named(advice.here)})
    if advice.lacks:
        said.append(gettext("Not found in the box: %(names)s.") % {"names": _named(advice.lacks)})
    return " ".join(said) or gettext(NOTHING)


def _named(names: tuple[str, ...]) -> str:
    return ", ".join(map(gettext, names))


def keeping_says(found: Keeping) -> list[str]:
    """How the box is to be kept, and whether its time is too long."""
    if not found.matters:
        return []
    said = []
    if found.cold:
        said.append(
            gettext("Keep cold: %(most)s °F (5 °C) or below until it is eaten, with an ice pack in an insulated bag.")
            % {"most": limits()["cold"].most}
        )
    if found.hot:
        said.append(
            gettext("Keep hot: %(least)s °F (57 °C) or above until it is eaten, in a vacuum flask warmed beforehand.")
            % {"least": limits()["hot"].least}
        )
    return [*said, *_time(found)]


def _time(found: Keeping) -> list[str]:
    hours = {"home": (limits()["home"].most or 0) // 60, "most": (limits()["time"].most or 0) // 60}
    if found.at_temperature:
        return []
    if found.minutes is None:
        limit = gettext(
            "Without ice or a flask it is to be eaten within %(home)s hours of packing; after %(most)s hours it is "
            "thrown away."
        )
        return [limit % hours]
    taken = f"{found.minutes // 60}:{found.minutes % 60:02}"
    if "time" in found.over:
        late = gettext(
            "%(taken)s hours from packing to eating, without ice or a flask, is over the limit of %(most)s hours. Pack "
            "it later, keep it cold or hot, or leave it out."
        )
        return [late % {**hours, "taken": taken}]
    if "home" in found.over:
        long = gettext(
            "%(taken)s hours from packing to eating, without ice or a flask, is longer than the %(home)s hours that "
            "families are advised. Add an ice pack or a flask."
        )
        return [long % {**hours, "taken": taken}]
    return []


def protein_says(found: Protein | None) -> list[str]:
    """What the numbers say of the protein, as advice."""
    if found is None:
        return []
    grams = f"{float(found.grams):.0f}"
    said = [gettext("About %(grams)s g of protein in what is counted.") % {"grams": grams}]
    if found.score.complete:
        said.append(gettext("By its amino acids it is complete for the child's age."))
    elif found.score.limiting:
        said.append(
            gettext("By its amino acids it is short of %(what)s; another protein food beside it may make up for that.")
            % {"what": gettext(found.score.limiting.replace("_", " + "))}
        )
    if found.left_out:
        said.append(
            gettext("Not counted, as their protein is not known: %(foods)s.")
            % {"foods": ", ".join(map(food_name, found.left_out))}
        )
    return said
