"""Entries of health records, written for tests. People and numbers are invented."""

from __future__ import annotations

import json
from typing import Any

from roster.fhir.files import HealthFile, open_file
from roster.fhir.lines import Plan
from roster.fhir.plan import plan_of
from roster.fhir.take import planned, receive, take_over
from roster.models import Child, User

TERMINOLOGY = "http://terminology.hl7.org/CodeSystem"


def entry(text: str = "", **more: Any) -> dict[str, Any]:
    """An active, unconfirmed food allergy of Patient/p1 to what the text says; `more` takes its place."""
    made = {
        "resourceType": "AllergyIntolerance",
        "clinicalStatus": status("clinical", "active"),
        "verificationStatus": status("verification", "unconfirmed"),
        "type": "allergy",
        "category": ["food"],
        "code": {"text": text},
        "patient": {"reference": "Patient/p1"},
        **more,
    }
    return {name: value for name, value in made.items() if value is not None}


def status(system: str, code: str) -> dict[str, Any]:
    """A clinical or verification status."""
    return {"coding": [{"system": f"{TERMINOLOGY}/allergyintolerance-{system}", "code": code}]}


def coded(code: str, system: str = "http://snomed.info/sct", **more: str) -> dict[str, Any]:
    """A concept by its code."""
    return {"coding": [{"system": system, "code": code, **more}]}


def patient(child: Child, **more: Any) -> dict[str, Any]:
    """Patient/p1, by the child's number, name and birth date."""
    return {
        "resourceType": "Patient",
        "id": "p1",
        "identifier": [{"system": child.source, "value": child.source_id}],
        "name": [{"given": [child.given_name], "family": child.family_name}],
        "birthDate": child.birth_date.isoformat() if child.birth_date else None,
        **more,
    }


def bundle(*resources: dict[str, Any], kind: str = "collection") -> bytes:
    """A Bundle of these, as bytes."""
    made = {"resourceType": "Bundle", "type": kind, "entry": [{"resource": each} for each in resources]}
    return json.dumps(made).encode()


def file_of(*resources: dict[str, Any]) -> HealthFile:
    """The bundle, taken apart."""
    return open_file(bundle(*resources))


def plan_for(child: Child, *entries: dict[str, Any]) -> Plan:
    """The dry run of these entries about the child, who is known by its number."""
    return plan_of(file_of(patient(child), *entries), Child.objects.all(), {})


def taken(child: Child, *entries: dict[str, Any], by: User | None = None, ticked: dict[str, list[str]] | None = None):
    """Receive these entries about the child and take them over."""
    kept = receive(bundle(patient(child), *entries), by=by)
    return kept, take_over(kept, planned(kept, Child.objects.all()), ticked=ticked or {}, by=by)
