"""A file of health records taken apart into its FHIR resources: a Bundle, one resource, or one resource a line."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.conf import settings

from menus.imports.problem import Unreadable

BUNDLES = ("collection", "searchset", "document", "transaction", "batch", "message", "batch-response", "history")
ASIDE = {"OperationOutcome", "Provenance", "Composition", "MessageHeader", "Practitioner", "PractitionerRole"}
"""Resources that stand in such files as a matter of course and say nothing about food."""


NUL = re.compile(r"(?<!\\)((?:\\\\)*)\\u0000")
"""A sign that no database keeps in a text, as JSON escapes it."""


@dataclass(frozen=True, slots=True)
class Found:
    """One resource, as it stands in the file."""

    place: str  # "entry 3", "line 3"; empty for a file that is one resource
    address: str  # its fullUrl in the bundle, or empty
    kind: str
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class HealthFile:
    """What a file holds."""

    resources: tuple[Found, ...]
    faults: tuple[tuple[str, str], ...]  # place, and what is wrong there
    left: Counter[str]  # kinds of resource that are not looked at

    def of(self, kind: str) -> list[Found]:
        """The resources of one kind, in the order of the file."""
        return [found for found in self.resources if found.kind == kind]


def open_file(data: bytes) -> HealthFile:
    """Return what the file holds. Raises Unreadable for what is no FHIR in JSON, and for more than one import takes."""
    text = _text(data)
    found: list[Found] = []
    faults: list[tuple[str, str]] = []
    for place, value in _documents(text):
        _collect(place, value, found, faults)
    if len(found) > settings.IMPORT_MAX_ROWS:
        raise Unreadable(
            f"The file holds more than the {settings.IMPORT_MAX_ROWS:,} resources that one import takes.",
            "Ask for it in several files.",
        )
    if not found and not faults:
        raise Unreadable("The file holds no resource.", "Ask for AllergyIntolerance resources, with their Patient.")
    kinds = Counter(each.kind for each in found if each.kind not in ASIDE | {"AllergyIntolerance", "NutritionOrder"})
    kinds.pop("Patient", None)
    return HealthFile(tuple(found), tuple(faults), kinds)


def _text(data: bytes) -> str:
    if not data.strip():
        raise Unreadable("The file is empty.", "Choose the file again, or ask for it anew.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable("The file is not UTF-8.", "FHIR in JSON is UTF-8: ask for it in that form.") from error
    if text.lstrip().startswith("<"):
        raise Unreadable("This is XML.", "Ask for FHIR R4 in JSON; only that is read.")
    return NUL.sub(r"\1 ", text).replace("\0", " ")


def _documents(text: str) -> Iterator[tuple[str, Any]]:
    """The whole text as one document, or each of its lines."""
    try:
        yield "", _loaded(text)
        return
    except (ValueError, RecursionError):
        lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    for number, line in lines:
        try:
            yield f"line {number}", _loaded(line)
        except (ValueError, RecursionError) as error:
            raise Unreadable(
                "The file is no JSON that can be read, neither as a whole nor line by line.",
                "Ask for it anew: a Bundle, one resource, or one resource a line.",
                row=number if len(lines) > 1 else 0,
            ) from error


def _loaded(text: str) -> Any:
    value = json.loads(text)
    if "\\ud" not in text.lower():
        return value
    # Half of a pair (RFC 8259, 8.2) can be read and not be written again.
    return json.loads(json.dumps(value, ensure_ascii=False).encode("utf-8", "replace"))


def _collect(place: str, value: Any, found: list[Found], faults: list[tuple[str, str]], address: str = "") -> None:
    kind = value.get("resourceType") if isinstance(value, dict) else None
    if not isinstance(kind, str):
        faults.append((place, "This is no FHIR resource: it does not say its resourceType."))
    elif kind != "Bundle":
        found.append(Found(place, address, kind, value))
    else:
        _entries(place, value, found, faults)


def _entries(place: str, bundle: dict[str, Any], found: list[Found], faults: list[tuple[str, str]]) -> None:
    if bundle.get("type") not in BUNDLES:
        faults.append((place, f"A Bundle of an unknown type, “{str(bundle.get('type'))[:40]}”; its entries were read."))
    if any(isinstance(link, dict) and link.get("relation") == "next" for link in _list(bundle.get("link"))):
        faults.append((place, "This is one page of several: the next ones are not in the file. Ask for them too."))
    for number, entry in enumerate(_list(bundle.get("entry")), start=1):
        where = f"{place}, entry {number}".removeprefix(", ")
        if not isinstance(entry, dict):
            faults.append((where, "This entry is no object."))
        elif isinstance(entry.get("resource"), dict):
            url = entry.get("fullUrl")
            inner = entry["resource"]
            if inner.get("resourceType") == "Bundle" and place.count("entry") > 1:
                faults.append((where, "Bundles in bundles in bundles are not read."))
                continue
            _collect(where, inner, found, faults, url if isinstance(url, str) else "")
        else:
            faults.append((where, _bare(entry)))


def _bare(entry: dict[str, Any]) -> str:
    request = entry.get("request")
    if isinstance(request, dict) and request.get("method") == "DELETE":
        return "This asks for something to be deleted. A file takes nothing away: licensed staff do, with a reason."
    return "This entry holds no resource."


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
