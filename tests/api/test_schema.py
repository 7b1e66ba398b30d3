"""The description of the API: whole, valid OpenAPI, for people with a post, and held by docs/reference/api.md."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from drf_spectacular.validation import validate_schema

from tests.api.conftest import ROOT, Asker, schema
from tests.cast import Cast


def test_the_schema_is_made_without_a_warning(capsys: pytest.CaptureFixture[str]) -> None:
    """Every view says what it takes and gives; the generator has nothing left to guess."""
    call_command("spectacular", validate=True, fail_on_warn=True)
    assert capsys.readouterr().out.startswith("openapi: 3.1.0")


def test_the_schema_is_openapi() -> None:
    """Checked against the JSON Schema that the OpenAPI Initiative publishes for 3.1."""
    validate_schema(schema())
    assert len(schema()["paths"]) == 10


@pytest.mark.parametrize(("accept", "kind"), [("application/vnd.oai.openapi+json", "json"), ("*/*", "openapi")])
def test_it_is_served_as_json_and_as_yaml(cast: Cast, accept: str, kind: str) -> None:
    """Who asks for JSON gets JSON; who does not say gets YAML."""
    answer = Asker(cast.rosa).client.get(f"{ROOT}schema/", headers={"Accept": accept})
    assert answer.status_code == 200 and kind in answer.headers["Content-Type"]
    assert b"treat-checks" in answer.content


def test_words_never_shown_are_not_in_it() -> None:
    """Neither a field nor a description promises what nobody can promise."""
    said = str(schema()).lower()
    for word in ("safe", "allergy-free", "ok to eat", "cleared", "guaranteed"):
        assert word not in said
