"""Choking by age: what published lists ask for before a food is handed to young children.

A notice, not a verdict: lists are guidance, children differ, and somebody sits with them while they eat.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from menus.mealpattern.age import spoken
from menus.mealpattern.forms import SHAPES, Said, cut_forms, last_head
from menus.mealpattern.hazards import Action, Hazard
from menus.mealpattern.names import find
from menus.mealpattern.tokens import tokenise

ASK_WHETHER = "Ask whether it is in there as such; if so, or if nobody knows:"
ASK_FORM = "The form is not clear: ask, and until it is known take it for whole."
"""What stands before what to do, where something is asked first."""


class Advice(StrEnum):
    """What to do, the gravest last."""

    ASK = "ask"  # the form is not said: ask, and until then take it for the risky one
    CHANGE = "change"  # served in a risky form: cut, cook or mash it first
    LEAVE_OUT = "leave-out"  # no form of it fits the age


WEIGHT = {Advice.ASK: 0, Advice.CHANGE: 1, Advice.LEAVE_OUT: 2}


@dataclass(frozen=True, slots=True)
class Food:
    """Words about one food. `form` is what somebody wrote about its cut; `within` names what it is a part of."""

    words: str
    form: str = ""
    within: tuple[str, ...] = ()
    is_list: bool = False  # an ingredient of a list, which names what is inside and seldom how it is cut


@dataclass(frozen=True, slots=True)
class Choking:
    """One finding: the words that name the hazard, and what to do for children under that age."""

    hazard: Hazard
    words: str
    advice: Advice
    under: int  # months

    @property
    def ages(self) -> str:
        return f"under {spoken(self.under)}"

    @property
    def what(self) -> str:
        """What to do, as a sentence or two."""
        what = self.hazard.what
        if self.advice is not Advice.ASK or self.hazard.action is Action.LOOK:
            return what
        if self.hazard.action is Action.NEVER:
            return f"{ASK_WHETHER} {what[0].lower()}{what[1:]}"
        return f"{ASK_FORM} {what}"


def choking(foods: Iterable[Food], *, youngest: int | None, place: str = "us") -> tuple[Choking, ...]:
    """Return what the lists of the place say of the foods for a group whose youngest has that many months.

    None is a birth date that nobody knows, and meets every age limit. One finding a hazard, the gravest, in the order
    of the list.
    """
    return _gravest(found for food in foods for found in _findings(food, youngest, place, {}))


def choking_in_dish(
    name: str, parts: Sequence[Food], *, youngest: int | None, place: str = "us"
) -> tuple[Choking, ...]:
    """Return the same for a dish: what its name says, and what is in it.

    Name and parts answer for each other: “Grapes” with a line of grapes, quartered, asks for nothing, nor does
    “Steamed broccoli” with a line of florets. A name that only hints at what is in the dish is answered by any parts.
    """
    told = {named.hazard.id: named.said for named in find(name)}
    by_part = [found for part in parts for found in _findings(part, youngest, place, told)]
    answered = {named.hazard.id for part in parts for named in find(part.words)}
    by_name = [
        found
        for found in _findings(Food(name), youngest, place, {})
        if not (found.advice is Advice.ASK and (found.hazard.id in answered or (parts and _only_hints(found.hazard))))
    ]
    return _gravest([*by_name, *by_part])


def _gravest(found: Iterable[Choking]) -> tuple[Choking, ...]:
    gravest: dict[str, Choking] = {}
    for each in found:
        before = gravest.get(each.hazard.id)
        if before is None or WEIGHT[before.advice] < WEIGHT[each.advice]:
            gravest[each.hazard.id] = each
    return tuple(gravest[hazard] for hazard in sorted(gravest))


def _only_hints(hazard: Hazard) -> bool:
    return hazard.action is Action.LOOK


def _findings(food: Food, youngest: int | None, place: str, told: Mapping[str, Said]) -> Iterator[Choking]:
    around = {form for name in food.within if (form := last_head(tokenise(name)))}
    note = cut_forms(tokenise(food.form))
    for named in find(food.words, in_list=food.is_list):
        hazard, under = named.hazard, named.hazard.under(place)
        too_old = youngest is not None and youngest >= under
        too_young = (youngest or 0) < hazard.begins(place)  # a stricter row stands for them, and for an unknown age
        if too_old or too_young or named.turned or around & hazard.turned_by:
            continue
        said = named.said | note | told.get(hazard.id, Said())
        if advice := _advice(hazard, said, named.form_said, food.is_list):
            yield Choking(hazard, named.words, advice, under)


def _advice(hazard: Hazard, said: Said, form_said: bool, in_list: bool) -> Advice | None:
    if said.forms & hazard.mended_by and not said.open:
        return None
    if hazard.action is Action.LOOK:
        return Advice.ASK
    if hazard.action is Action.NEVER:
        return Advice.ASK if in_list and hazard.mended_by else Advice.LEAVE_OUT
    cut = said.forms & SHAPES and not said.forms & hazard.mended_by
    return Advice.CHANGE if form_said or cut else Advice.ASK
