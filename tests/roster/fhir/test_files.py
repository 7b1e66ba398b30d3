"""Files of health records are taken apart whatever their form, and refused with a reason."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.imports.problem import Unreadable
from roster.fhir.files import open_file
from tests.roster.fhir.entries import bundle, entry


@pytest.mark.parametrize("kind", ["collection", "searchset", "document", "transaction"])
def test_a_bundle_of_each_kind_is_opened(kind: str) -> None:
    """The kinds in which such files come."""
    found = open_file(bundle(entry("Egg"), entry("Milk"), kind=kind))
    assert [each.place for each in found.resources] == ["entry 1", "entry 2"] and not found.faults


def test_one_resource_and_one_a_line_are_opened() -> None:
    """As a single export and as a bulk export give them."""
    one, two = json.dumps(entry("Egg")), json.dumps(entry("Milk"))
    assert [each.place for each in open_file(one.encode()).resources] == [""]
    assert [each.place for each in open_file(f"{one}\n\n{two}\n".encode()).resources] == ["line 1", "line 3"]


def test_what_is_not_looked_at_is_counted_and_what_has_no_resource_is_told() -> None:
    """A page of a search, an entry that deletes, an observation."""
    made = json.loads(bundle({"resourceType": "Observation"}, entry("Egg")))
    made["entry"].append({"request": {"method": "DELETE", "url": "AllergyIntolerance/1"}})
    made["link"] = [{"relation": "next", "url": "https://example.org/next"}]
    found = open_file(json.dumps(made).encode())
    assert found.left == {"Observation": 1}
    told = " ".join(what for _, what in found.faults)
    assert "takes nothing away" in told and "one page of several" in told


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "empty"),
        (b"\xff\xfe{}", "not UTF-8"),
        (b"<AllergyIntolerance xmlns='http://hl7.org/fhir'/>", "XML"),
        (b"{not json", "no JSON"),
        (b'{"resourceType": "Bundle", "type": "collection"}', "no resource"),
        (b"[" * 100_000, "no JSON"),
    ],
)
def test_what_cannot_be_opened_says_why(data: bytes, told: str) -> None:
    """And how to mend it."""
    with pytest.raises(Unreadable) as error:
        open_file(data)
    assert told in error.value.problem.what and error.value.problem.mend


@given(st.binary(max_size=200) | st.recursive(st.none() | st.text(), st.lists, max_leaves=5).map(str).map(str.encode))
def test_any_bytes_are_answered(data: bytes) -> None:
    """With what they hold, or with a reason."""
    try:
        open_file(data)
    except Unreadable as error:
        assert error.problem.what
