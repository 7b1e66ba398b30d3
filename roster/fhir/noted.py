"""What one AllergyIntolerance says, once a validator has found it sound. Reactions are not taken over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fhir.resources.allergyintolerance import AllergyIntolerance as InR5
from fhir.resources.R4B.allergyintolerance import AllergyIntolerance as InR4B
from pydantic import ValidationError

from roster.fhir.files import Found

FOOD = "food"
NOW = ""
"""The clinical status of a record that gives none: it counts as active."""

LONGEST_REFERENCE = 300

PAST = ("inactive", "resolved")
PLAINLY = {
    "missing": "it is missing",
    "json_invalid": "it does not have the form that R4 gives it",
    "extra_forbidden": "R4 has no such element",
}
"""The validator's commonest complaints, as people say them."""

DENIED = ("refuted", "entered-in-error")


@dataclass(frozen=True, slots=True)
class Coding:
    """One code with its words."""

    system: str
    code: str
    display: str


@dataclass(frozen=True, slots=True)
class Concept:
    """A thing by codes, in words, or both."""

    codings: tuple[Coding, ...] = ()
    text: str = ""

    @property
    def words(self) -> str:
        """As a person reads it."""
        displays = (coding.display for coding in self.codings if coding.display)
        codes = (f"{coding.system} {coding.code}".strip() for coding in self.codings if coding.code)
        return self.text or next(displays, "") or next(codes, "")


@dataclass(frozen=True, slots=True)
class Noted:
    """One entry of a health record, in the words of FHIR R4 (what is not said is empty)."""

    place: str
    patient: str  # as the entry refers to it
    patient_display: str
    code: Concept
    clinical: str  # "active" | "inactive" | "resolved"
    verification: str  # "unconfirmed" | "presumed" | "confirmed" | "refuted" | "entered-in-error"
    kind: str  # "allergy" | "intolerance"
    categories: tuple[str, ...]
    criticality: str  # "low" | "high" | "unable-to-assess": for the order of the list alone
    recorded: str
    notes: tuple[str, ...]
    blamed: tuple[Concept, ...]  # what reactions name; read only where the entry itself names nothing
    has_modifier: bool  # an extension that may turn its sense round

    @property
    def may_be_food(self) -> bool:
        """Whether it says food, or says nothing about it."""
        return not self.categories or FOOD in self.categories

    @property
    def is_past(self) -> bool:
        """Whether the record says that it is over."""
        return self.clinical in PAST

    @property
    def is_denied(self) -> bool:
        """Whether the record says that it is not so."""
        return self.verification in DENIED


class Unsound(ValueError):
    """What the validators refuse; it says where and why."""


def noted(found: Found) -> Noted:
    """Return what the entry says. Raises Unsound for what is valid neither by R4B, which R4 equals here, nor by R5."""
    data = sound(found.data, InR4B, InR5)
    patient = data.get("patient") or {}  # the validator lets an empty one pass
    kind = data.get("type")
    return Noted(
        place=found.place,
        patient=_reference(patient, found.place)[:LONGEST_REFERENCE],
        patient_display=str(patient.get("display", "")),
        code=concept(data.get("code")),
        clinical=_status(data.get("clinicalStatus"), "allergyintolerance-clinical"),
        verification=_status(data.get("verificationStatus"), "allergyintolerance-verification"),
        kind=kind if isinstance(kind, str) else _status(kind, "allergy-intolerance-type"),
        categories=tuple(data.get("category") or ()),
        criticality=data.get("criticality", ""),
        recorded=str(data.get("recordedDate", ""))[:10],
        notes=tuple(str(note.get("text", "")) for note in data.get("note") or () if note.get("text")),
        blamed=tuple(concept(each["substance"]) for each in data.get("reaction") or () if each.get("substance")),
        has_modifier=bool(data.get("modifierExtension")),
    )


def sound(data: dict[str, Any], *models: Any) -> dict[str, Any]:
    """Return the resource as the first model that takes it reads it. Raises Unsound with what the first of all says."""
    first: ValidationError | None = None
    for model in models:
        try:
            read: dict[str, Any] = json.loads(model.model_validate(data).model_dump_json())
        except ValidationError as error:
            first = first or error
        else:
            return read
    raise Unsound("; ".join(_faults(first)) if first else "No model was given.") from first


def concept(value: Any) -> Concept:
    """Return a CodeableConcept as it stands in a valid resource."""
    if not value:
        return Concept()
    codings = [
        Coding(each.get("system") or "", each.get("code") or "", (each.get("display") or "").strip())
        for each in value.get("coding") or ()
    ]
    return Concept(tuple(codings), (value.get("text") or "").strip())


def _reference(patient: dict[str, Any], place: str) -> str:
    reference = patient.get("reference") or ""
    if reference.startswith("#"):
        return f"{place} {reference}"  # of this entry alone
    identifier = patient.get("identifier") or {}
    return reference or " ".join(filter(None, (identifier.get("system"), identifier.get("value"))))


def _status(value: Any, system: str) -> str:
    """The code in HL7's own system; without one, the first of all."""
    codings = [coding for coding in concept(value).codings if coding.code]
    ranked = sorted(codings, key=lambda coding: not coding.system.endswith(f"/{system}"))
    return ranked[0].code if ranked else NOW


def _faults(error: ValidationError) -> Iterator[str]:
    for each in error.errors(include_url=False, include_input=False)[:3]:
        said = PLAINLY.get(each["type"], each["msg"][:120])
        yield f"{'.'.join(str(part) for part in each['loc']) or 'the resource'}: {said}"
