"""The dry run of a file of health records: entry by entry, what it would come to. Nothing is written here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from django.db.models import QuerySet
from django.utils import timezone

from menus.lexicon import lexicon_at
from roster.fhir.files import HealthFile
from roster.fhir.lines import MOST_WORDS, Line, Plan
from roster.fhir.naming import Meant, meant
from roster.fhir.noted import Concept, Noted, Unsound, noted
from roster.fhir.orders import Asked, asked_in
from roster.fhir.patients import Match, Roll, match, patients_of
from roster.fhir.weigh import Standing, beside, line_of, unmatched
from roster.models import Child, Finding

Understood = Callable[[Concept], Meant]


def plan_of(file: HealthFile, among: QuerySet[Child], confirmed: Mapping[str, int]) -> Plan:
    """Return what the file comes to for those children. `confirmed` is whom a person named for a patient, by its key.

    Two queries, and one for each child found.
    """
    entries, faults = _entries(file)
    orders = [each for found in file.of("NutritionOrder") for each in asked_in(found)]
    patients = patients_of(file, [*entries, *(each.entry for each in orders)])
    by_patient: dict[str, list[Noted | Asked]] = {each.key: [] for each in patients}
    for entry in entries:
        by_patient[entry.patient].append(entry)
    for order in orders:
        by_patient[order.entry.patient].append(order)
    roll = Roll(among)
    matches = {each.key: match(each, roll, confirmed.get(each.key)) for each in patients}
    understood = cache(partial(meant, lexicon=lexicon_at(timezone.now())))  # a school's file says “Peanut” many times
    lines = [line for each in patients for line in _about(matches[each.key], by_patient, understood)]
    unread = [Line(place, Finding.UNREADABLE, "", said) for place, said in (*file.faults, *faults)]
    return Plan(tuple(matches.values()), (*lines, *unread), dict(file.left))


def _entries(file: HealthFile) -> tuple[list[Noted], list[tuple[str, str]]]:
    entries: list[Noted] = []
    faults: list[tuple[str, str]] = []
    for found in file.of("AllergyIntolerance"):
        try:
            entries.append(noted(found))
        except Unsound as error:
            named = meant_words(found.data)
            faults.append((found.place, f"{named}This is no sound AllergyIntolerance. {error}. Write it down by hand."))
    return entries, faults


def meant_words(data: Mapping[str, object]) -> str:
    """Return whatever an unsound entry names, so that it can be written down by hand."""
    code = data.get("code")
    text = code.get("text") if isinstance(code, dict) else None
    return f"“{text[:MOST_WORDS]}”: " if isinstance(text, str) and text else ""


def _about(match: Match, by_patient: Mapping[str, Sequence[Noted | Asked]], understood: Understood) -> Iterator[Line]:
    standing = Standing.of(match.child) if match.child else None
    for each in by_patient[match.patient.key]:
        if isinstance(each, Asked):
            line = Line(each.entry.place, Finding.REVIEW, each.words, each.said, each.entry, match.child)
        else:
            line = line_of(each, _named_by(each, understood))
        yield beside(line, match.child, standing) if standing else unmatched(line, match.patient)


def _named_by(entry: Noted, understood: Understood) -> Meant:
    """What the entry names; where nothing of it is known, also what its reactions were put down to."""
    said = understood(entry.code)
    if said.substances or said.nothing_known or said.told:
        return said
    blamed = dict.fromkeys(code for each in entry.blamed for code in understood(each).substances)
    return replace(said, substances=tuple(blamed), to_confirm=bool(blamed)) if blamed else said
