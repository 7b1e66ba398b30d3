"""What is said of a lunchbox, in the language of the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from django.utils.translation import get_language, gettext

from compliance.checks.lunchbox import BoxAnswer
from compliance.checks.lunchcause import Because, Cause
from menus.labels.evidence import Level
from menus.mealpattern.household import household_foods, shapes
from menus.mealpattern.textures import Fits
from menus.substances.catalogue import Catalogue
from roster.kinds.spanish import name_in
from roster.life.lunchbox import Packed


def tongue() -> str:
    """The two letters of the language that the page is in."""
    return (get_language() or "en")[:2]


def food_name(packed: Packed) -> str:
    """What a food is called: a household food in the language of the page, any other as it was typed."""
    food = household_foods().get(packed.household)
    return food.named(tongue()) if food else packed.name


def shape_name(packed: Packed) -> str:
    """How it is cut or cooked, or nothing."""
    shape = shapes().get(packed.form)
    return shape.named(tongue()) if shape else ""


def portion_name(packed: Packed) -> str:
    """How much of it goes into one box, or nothing where nobody knows."""
    food = household_foods().get(packed.household)
    return gettext(food.portion) if food else ""


def substance(code: str) -> str:
    """A substance by name."""
    return name_in(tongue(), "substance", code, Catalogue.load().get(code).name)


def causes_say(causes: Iterable[Cause]) -> list[tuple[str, str]]:
    """Return what is said of a food or a box, and the words of the label that say so.

    Each substance is named once, for the gravest that it means: the first. What is alike is said in one sentence.
    """
    gravest: dict[tuple[Because, str], Cause] = {}
    for cause in causes:
        gravest.setdefault((cause.because, cause.substance), cause)
    alike: dict[Cause, list[str]] = {}
    for cause in gravest.values():
        alike.setdefault(replace(cause, substance=""), []).append(cause.substance)
    return [(_said(cause, codes), cause.words) for cause, codes in alike.items()]


def _said(cause: Cause, codes: list[str]) -> str:
    if cause.because is Because.SPREAD:
        return gettext(
            "The site has not approved this product for the room. It looks like peanut butter: ask the site before it "
            "is packed."
        )
    if cause.because is Because.TEXTURE:
        return _texture(cause)
    what = ", ".join(map(substance, codes))
    held = _held(cause.level, what)
    if cause.because is Because.ROOM:
        return f"{gettext('The room has a rule about %(what)s.') % {'what': what}} {held}"
    return held


def _held(level: Level, what: str) -> str:
    if level is Level.PRESENT:
        return gettext("It holds %(what)s.") % {"what": what}
    if level is Level.POSSIBLE:
        return gettext("It may hold %(what)s.") % {"what": what}
    return gettext("It is not known yet whether it holds %(what)s.") % {"what": what}


def _texture(cause: Cause) -> str:
    if cause.fits == Fits.UNKNOWN:
        return gettext("A level of texture is set for this child, and that of this food is not stated. Ask.")
    if cause.fits == Fits.ABOVE:
        return gettext("The level of texture of this food asks for more than the level set for this child.")
    return gettext("The level of texture of this food is another than the one set for this child. Ask.")


def rules_say(answer: BoxAnswer) -> list[str]:
    """The room's rules by what they are about; nobody is named."""
    codes = dict.fromkeys(rule.substance for rule in answer.setting.rules)
    return [gettext("The room has a rule about %(what)s.") % {"what": substance(code)} for code in codes]
