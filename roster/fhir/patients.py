"""Whose record it is: the patient of an entry, and the child that may be meant. In doubt a person says which."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import quote, unquote

from roster.fhir.files import HealthFile
from roster.fhir.noted import Noted
from roster.models import Child

OUR_SOURCE = "urn:x-menu-compliance:source:"
"""Begins the system of an identifier that this service wrote; what follows is the source of the roster."""

MOST_CANDIDATES = 8


def system_of(source: str) -> str:
    """Return the system under which a number of that source is sent: itself, where it is a URI already."""
    return source if ":" in source else f"{OUR_SOURCE}{quote(source)}"


@dataclass(frozen=True, slots=True)
class Patient:
    """One patient of a file, by whatever the file says of them."""

    key: str  # as the entries refer to it
    names: tuple[tuple[str, str], ...]  # given, family
    born: date | None
    numbers: tuple[tuple[str, str], ...]  # system, number
    display: str

    @property
    def shown(self) -> str:
        """As a person recognises them."""
        name = " ".join(filter(None, self.names[0])) if self.names else self.display or self.key or "nobody named"
        return f"{name}, born {self.born}" if self.born else name


@dataclass(frozen=True, slots=True)
class Match:
    """The child that the patient is, when that is certain or was confirmed; else who may be meant."""

    patient: Patient
    child: Child | None
    by_number: bool
    candidates: tuple[Child, ...]


def patients_of(file: HealthFile, entries: Iterable[Noted]) -> list[Patient]:
    """Return the patients to whom the entries refer, in the order of the file."""
    known = _described(file)
    found: dict[str, Patient] = {}
    for entry in entries:
        if entry.patient not in found:
            found[entry.patient] = _patient(entry, known.get(entry.patient.partition("/_history/")[0]) or {})
    return list(found.values())


class Roll:
    """The children who may be meant, read once: by number, and by each of their names."""

    def __init__(self, among: Iterable[Child]) -> None:
        self.by_id: dict[int, Child] = {}
        self.by_number: dict[tuple[str, str], list[Child]] = {}
        self.in_any_system: dict[str, list[Child]] = {}
        self.by_name: dict[str, list[Child]] = {}
        for child in among:
            self.by_id[child.pk] = child
            if child.source_id:
                self.by_number.setdefault((child.source, child.source_id), []).append(child)
                self.in_any_system.setdefault(child.source_id, []).append(child)
            for name in {_folded(child.given_name), _folded(child.family_name)}:
                self.by_name.setdefault(name, []).append(child)

    def numbered(self, patient: Patient) -> list[Child]:
        """Those with a number of the patient, in its own system."""
        keys = [(_source(system), number) for system, number in patient.numbers if system and number]
        return _once(child for key in keys for child in self.by_number.get(key, ()))

    def same_number(self, patient: Patient) -> list[Child]:
        """Those who carry such a number in whatever system."""
        return _once(child for _, number in patient.numbers for child in self.in_any_system.get(number, ()))

    def named_alike(self, patient: Patient) -> list[Child]:
        """Those with the same names, born on the same day as far as known; failing these, with one of the names."""
        names = {_folded(part) for name in patient.names for part in name if part}
        names = names or set(_folded(patient.display).split())
        named = _once(child for name in names for child in self.by_name.get(name, ()))
        alike = [child for child in named if not _born_otherwise(child, patient)]
        whole = [child for child in alike if {_folded(child.given_name), _folded(child.family_name)} <= names]
        return whole or (alike if patient.born else [])


def match(patient: Patient, roll: Roll, confirmed: int | None) -> Match:
    """Return who the patient is among those children. A number is certain, unless the birth date speaks against it.

    A name is for a person to confirm.
    """
    if confirmed is not None and (child := roll.by_id.get(confirmed)):
        return Match(patient, child, False, ())
    numbered = roll.numbered(patient)
    if len(numbered) == 1 and not _born_otherwise(numbered[0], patient):
        return Match(patient, numbered[0], True, ())
    offered = _once((*numbered, *roll.same_number(patient), *roll.named_alike(patient)))
    return Match(patient, None, False, tuple(offered[:MOST_CANDIDATES]))


def _once(children: Iterable[Child]) -> list[Child]:
    return list({child.pk: child for child in children}.values())


def _born_otherwise(child: Child, patient: Patient) -> bool:
    return None not in (child.birth_date, patient.born) and child.birth_date != patient.born


def _source(system: str) -> str:
    return unquote(system.removeprefix(OUR_SOURCE)) if system.startswith(OUR_SOURCE) else system


def _folded(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text)
    return " ".join("".join(sign for sign in plain if not unicodedata.combining(sign)).casefold().split())


def _described(file: HealthFile) -> dict[str, dict[str, Any]]:
    """Every Patient of the file by each way in which an entry may refer to it: never two by one.

    A relative reference names a Patient by its id; an absolute one by its fullUrl alone, since two servers may give two
    children the same id (FHIR R4, Bundle, “Resolving references”; memory).
    """
    described: dict[str, dict[str, Any]] = {}
    doubtful: set[str] = set()
    for key, data in _keyed(file):
        if described.setdefault(key, data) != data:
            doubtful.add(key)
    return {key: data for key, data in described.items() if key not in doubtful}


def _keyed(file: HealthFile) -> Iterable[tuple[str, dict[str, Any]]]:
    for found in file.of("Patient"):
        if found.address:
            yield found.address, found.data
        if found.data.get("id"):
            yield f"Patient/{found.data['id']}", found.data
    for found in file.resources:
        for inner in _dicts(found.data.get("contained")):
            if inner.get("resourceType") == "Patient":
                yield f"{found.place} #{inner.get('id')}", inner


def _patient(entry: Noted, data: dict[str, Any]) -> Patient:
    numbers = [(each.get("system"), each.get("value")) for each in _dicts(data.get("identifier"))]
    if not data and " " in entry.patient:  # a reference by identifier alone: "system number"
        system, _, number = entry.patient.rpartition(" ")
        numbers.append((system, number))
    return Patient(
        key=entry.patient,
        names=tuple(_names(_dicts(data.get("name")))),
        born=_day(data.get("birthDate")),
        numbers=tuple((str(system or ""), str(number or "")) for system, number in numbers),
        display=entry.patient_display,
    )


def _names(names: Sequence[dict[str, Any]]) -> Iterable[tuple[str, str]]:
    for name in names:
        given = name.get("given")
        first = str(given[0]) if isinstance(given, list) and given else ""
        family = str(name.get("family") or "")
        if first or family:
            yield first, family
        elif name.get("text"):
            first, _, family = str(name["text"]).rpartition(" ")
            yield first, family


def _day(value: Any) -> date | None:
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None  # FHIR allows a year alone, which tells no day


def _dicts(value: Any) -> list[dict[str, Any]]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []
