"""A child's restrictions as a FHIR R4 Bundle of AllergyIntolerance. No diagnosis goes out, and no diet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django.utils import timezone

from menus.substances.catalogue import Catalogue
from roster.fhir.codes import OURS, SNOMED, TOLD, coding_of
from roster.fhir.patients import system_of
from roster.kinds.kind import Enforced, restriction_kinds
from roster.models import Child, Restriction, State

SPACE = UUID("6f0f3a34-7d0b-4c62-9b5e-2f1c6f6d7a10")
"""Under which the addresses inside the bundle are made (RFC 9562, version 5): the same record gives the same file."""

TERMINOLOGY = "http://terminology.hl7.org/CodeSystem"
NO_ALLERGY = {Enforced.TEXTURE, Enforced.AGE, Enforced.NOT, Enforced.CALENDAR}
TYPES = {"allergy": "allergy", "intolerance": "intolerance"}
"""FHIR's type, where the family of the kind says it. Of other kinds it is left out: it would name a condition."""


@dataclass(frozen=True, slots=True)
class Given:
    """The bundle, and what stays out of it because it is no allergy."""

    bundle: dict[str, Any]
    sent: tuple[Restriction, ...]
    left: tuple[Restriction, ...]


def give(child: Child, at: datetime | None = None) -> Given:
    """Return what stood on record for the child at that moment. Two queries."""
    moment = at or timezone.now()
    site = child.site
    day = moment.astimezone(site.zone).date() if site else moment.date()
    known = Restriction.objects.standing(day, day, moment).filter(child=child)
    versions = list(known.select_related("statement", "review").order_by("substance", "pk"))
    sent = [each for each in versions if _is_sent(each)]
    return Given(
        bundle=_bundle(child, sent, moment, day),
        sent=tuple(sent),
        left=tuple(each for each in versions if not _is_sent(each)),
    )


def _is_sent(version: Restriction) -> bool:
    """Whether it is a harm that the child's body may come to: not a diet, a texture or an amount that is counted."""
    if not version.is_medical:
        return False
    kind = restriction_kinds().get(version.kind)
    return kind is None or (kind.enforced not in NO_ALLERGY and kind.family != "feeding")


def _bundle(child: Child, versions: Sequence[Restriction], moment: datetime, day: Any) -> dict[str, Any]:
    patient = _address("patient", child.pk)
    entries = [{"fullUrl": patient, "resource": _patient(child)}]
    entries += [
        {"fullUrl": _address("restriction", each.pk), "resource": _resource(each, patient, day)} for each in versions
    ]
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": moment.isoformat(timespec="seconds"),
        "entry": entries,
    }


def _patient(child: Child) -> dict[str, Any]:
    data: dict[str, Any] = {"resourceType": "Patient"}
    if child.source_id:
        data["identifier"] = [{"system": system_of(child.source), "value": child.source_id}]
    data["name"] = [{"family": child.family_name, "given": [child.given_name]}]
    if child.birth_date:
        data["birthDate"] = child.birth_date.isoformat()
    return data


def _resource(version: Restriction, patient: str, day: Any) -> dict[str, Any]:
    reviewed = version.review_id is not None
    data = {
        "resourceType": "AllergyIntolerance",
        "clinicalStatus": _status("allergyintolerance-clinical", "active"),
        "verificationStatus": _status("allergyintolerance-verification", "confirmed" if reviewed else "unconfirmed"),
        "category": ["food"],
        "code": _code(version),
        "patient": {"reference": patient},
        "recordedDate": version.recorded_at.date().isoformat(),
        "note": [{"text": sentence} for sentence in _notes(version, version.state_on(day))],
    }
    kind = restriction_kinds().get(version.kind)
    if kind and kind.family in TYPES:
        data["type"] = TYPES[kind.family]
    return data


def _code(version: Restriction) -> dict[str, Any]:
    if not version.substance:
        return {"coding": [{"system": OURS, "code": TOLD}], "text": version.told}
    name = Catalogue.load().get(version.substance).name
    codings = [{"system": OURS, "code": version.substance, "display": name}]
    if known := coding_of(version.substance):
        codings.append({"system": SNOMED, "code": known.code, "display": known.display})
    return {"coding": codings, "text": name}


def _notes(version: Restriction, state: State) -> list[str]:
    said = [f"To be kept away from the child: {version.get_strictness_display().lower()}."]
    if version.statement:
        said.append(f"Signed statement of {version.statement.signed_on}; runs out {version.review_on}.")
    said.append(f"{state.label}. From the records of a school or daycare: no diagnosis, and no signed statement.")
    return said


def _status(system: str, code: str) -> dict[str, Any]:
    return {"coding": [{"system": f"{TERMINOLOGY}/{system}", "code": code}]}


def _address(what: str, pk: int) -> str:
    return f"urn:uuid:{uuid5(SPACE, f'{what} {pk}')}"
