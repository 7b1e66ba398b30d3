"""Product data in the GS1 Web Vocabulary, however the JSON-LD is wrapped."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from menus.imports.plan import ImportPlan, plan_rows
from menus.imports.supplied import SUPPLIED
from menus.models import Product
from tests.menus.imports.stated import BAR, lines

pytestmark = pytest.mark.django_db


def jsonld(*products: dict[str, Any]) -> ImportPlan:
    return plan_rows(SUPPLIED, io.BytesIO(json.dumps(list(products)).encode()))


@pytest.mark.parametrize(
    ("product", "line"),
    [
        (
            {
                "gs1:gtin": BAR,
                "gs1:hasAllergen": {"gs1:allergenType": "AM", "allergenLevelOfContainmentCode": "50"},
            },
            "AM 50 (Milk)",
        ),
        (
            {
                "https://gs1.org/voc/gtin": {"@value": BAR},
                "https://gs1.org/voc/hasAllergen": [
                    {
                        "https://gs1.org/voc/allergenType": [{"@id": "https://gs1.org/voc/AllergenTypeCode-AM"}],
                        "https://gs1.org/voc/allergenLevelOfContainmentCode": "gs1:LevelOfContainmentCode-CONTAINS",
                    }
                ],
            },
            "AM CONTAINS (Milk)",
        ),
        (
            {
                "@graph": [
                    {"@id": "_:b1", "gs1:allergenType": {"@id": "gs1:AllergenTypeCode-AM"}},
                    {"gs1:gtin": BAR, "gs1:hasAllergen": {"@id": "_:b1"}},
                ]
            },
            "AM (Milk)",
        ),
        ({"gtin": BAR, "hasAllergen": {"@id": "gs1:AllergenTypeCode-AM"}}, "AM (Milk)"),
        ({"gtin": BAR, "hasAllergen": ["AM"]}, "AM (Milk)"),
    ],
)
def test_every_way_to_write_it_comes_to_the_code(bar: Product, product: dict[str, Any], line: str) -> None:
    """Prefix, vocabulary or whole address; one or several; in place or as a node of its own."""
    jsonld(product).save()
    assert lines(bar) == [line]


def test_sentences_come_with_the_codes_in_english_where_there_is_any(bar: Product) -> None:
    """They add to the package's words and never stand for them."""
    said = [{"@value": "avoine, miel", "@language": "fr"}, {"@value": "oats,\n honey", "@language": "en-US"}]
    jsonld({"gtin": BAR, "ingredientStatement": said, "allergenStatement": "May contain egg."}).save()
    assert lines(bar) == ["Allergen statement: May contain egg.", "Ingredients: oats, honey"]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b'{"gtin": ', "cannot be read as such from line 1 on"),
        (b"[" * 100_000, "cannot be read as such"),
        (b'{"gtin": "\xff"}', "not written in UTF-8"),
        (b'{"@type": "Organization"}', "holds no product"),
        (b"[1, null, [[]]]", "holds no product"),
    ],
)
def test_what_is_no_product_data_is_told(data: bytes, told: str) -> None:
    """Whatever the bytes, nothing is raised."""
    (problem,) = plan_rows(SUPPLIED, io.BytesIO(data)).problems
    assert told in problem.what
    assert problem.mend


def test_a_product_without_a_number_is_a_problem_of_its_place() -> None:
    """Products are counted from 1."""
    made = jsonld({"gtin": BAR, "hasAllergen": "AM"}, {"hasAllergen": {"allergenType": "AM"}})
    assert [(problem.row, problem.field) for problem in made.problems] == [(2, "gtin")]


def test_products_stand_at_any_depth_and_those_that_tell_nothing_are_passed_over(bar: Product) -> None:
    """In an offer, or many graphs deep."""
    offer: dict[str, Any] = {"gs1:offers": {"gs1:itemOffered": {"gtin": BAR, "hasAllergen": ["AM"]}}}
    for _ in range(200):
        offer = {"@graph": [offer, {"gtin": BAR, "hasAllergen": []}]}
    made = jsonld(offer)
    assert (made.problems, made.summary) == ([], "label: 1 changed")


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=9) | st.sampled_from([BAR, "AM", "CONTAINS"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["gtin", "gs1:hasAllergen", "allergenType", "@value", "@id", "@graph", "allergenStatement"]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(JSON)
def test_any_json_is_a_plan(bar: Product, value: Any) -> None:
    """Problems are listed, never raised, and what the dry run lets through can be saved."""
    made = plan_rows(SUPPLIED, io.BytesIO(json.dumps([value]).encode()))
    assert all(problem.what and problem.mend for problem in made.problems)
    if not made.problems:
        made.save()
