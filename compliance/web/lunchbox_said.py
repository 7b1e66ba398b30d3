"""What is said of a lunchbox, in the language of the page."""

from __future__ import annotations

from django.utils.translation import get_language, gettext

from compliance.checks.lunchbox import Because, BoxAnswer, Cause, Protein
from menus.labels.evidence import Level
from menus.mealpattern.household import household_foods, shapes
from menus.mealpattern.keeping import Keeping, limits
from menus.mealpattern.textures import DRINK, FOOD, Fits, levels
from menus.substances.catalogue import Catalogue
from roster.kinds.spanish import name_in
from roster.life.lunchbox import Packed
from roster.models import TextureLevel


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


def substance(code: str) -> str:
    """A substance by name."""
    return name_in(tongue(), "substance", code, Catalogue.load().get(code).name)


def said_of(cause: Cause) -> str:
    """One reason as a sentence or two."""
    if cause.because is Because.SPREAD:
        return gettext(
            "The site has not approved this product for the room. It looks like peanut butter: ask the site before it "
            "is packed."
        )
    if cause.because is Because.TEXTURE:
        return _texture(cause)
    held = _held(cause.level, substance(cause.substance))
    if cause.because is Because.ROOM:
        return f"{gettext('The room has a rule about %(what)s.') % {'what': substance(cause.substance)}} {held}"
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


def texture_says(texture: TextureLevel) -> str:
    """The levels set for a child, by number and in words."""
    said = []
    if texture.food_level is not None:
        level = levels(FOOD)[texture.food_level].named(tongue())
        said.append(gettext("Food of texture level %(level)s.") % {"level": level})
    if texture.drink_level is not None:
        level = levels(DRINK)[texture.drink_level].named(tongue())
        said.append(gettext("Drink of thickness level %(level)s.") % {"level": level})
    return " ".join(said)


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
            % {"what": found.score.limiting.replace("_", " + ")}
        )
    if found.left_out:
        said.append(
            gettext("Not counted, as their protein is not known: %(foods)s.") % {"foods": ", ".join(found.left_out)}
        )
    return said


def rules_say(answer: BoxAnswer) -> list[str]:
    """The room's rules by what they are about; nobody is named."""
    return [gettext("The room has a rule about %(what)s.") % {"what": substance(code)} for code in answer.rules]
