"""What a NutritionOrder asks for. It is shown to licensed staff and never taken over by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fhir.resources.nutritionorder import NutritionOrder as InR5
from fhir.resources.R4B.nutritionorder import NutritionOrder as InR4B

from roster.fhir.files import Found
from roster.fhir.noted import LONGEST_REFERENCE, Concept, Noted, Unsound, concept, sound

LONGEST = 160


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that an order asks for."""

    entry: Noted
    words: str
    said: str


def asked_in(found: Found) -> Iterator[Asked]:
    """Yield what the order asks for: foods left out, preferences, textures of food and drink, instructions."""
    try:
        data = sound(found.data, InR4B, InR5)
    except Unsound as error:
        yield Asked(_entry(found), "An order for food", f"It could not be read: {error}. Look at the paper.")
        return
    for what, words in _parts(data):
        sentence = f"{what} An order for food is not taken over by itself: write down what a statement on file says."
        yield Asked(_entry(found), words[:LONGEST], sentence)


def _parts(data: dict[str, Any]) -> Iterator[tuple[str, str]]:
    status = f"(status “{data.get('status', '')}”)"
    for each in data.get("excludeFoodModifier") or ():
        yield f"The order leaves this out {status}.", concept(each).words
    for each in data.get("foodPreferenceModifier") or ():
        yield f"A preference, not a matter of health {status}.", concept(each).words
    diet = data.get("oralDiet") or {}
    for each in diet.get("texture") or ():
        words = (concept(each.get(part)).words for part in ("modifier", "foodType"))
        yield f"A texture of food {status}.", ", ".join(filter(None, words))
    for each in diet.get("fluidConsistencyType") or ():
        yield f"A texture of drink {status}.", concept(each).words
    for each in diet.get("nutrient") or ():
        yield f"An amount of a nutrient, which is not checked here {status}.", concept(each.get("modifier")).words
    if diet.get("instruction"):
        yield f"An instruction {status}.", str(diet["instruction"])


def _entry(found: Found) -> Noted:
    patient = found.data.get("patient")
    patient = patient if isinstance(patient, dict) else {}
    return Noted(
        place=found.place,
        patient=str(patient.get("reference") or "")[:LONGEST_REFERENCE],
        patient_display=str(patient.get("display") or ""),
        code=Concept(),
        clinical="",
        verification="",
        kind="",
        categories=(),
        criticality="",
        recorded=str(found.data.get("dateTime") or "")[:10],
        notes=(),
        blamed=(),
        has_modifier=False,
    )
