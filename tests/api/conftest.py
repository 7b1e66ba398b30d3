"""A client that signs in with a session and holds every answer against the published schema."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from django.core.cache import cache as store
from django.urls import resolve
from drf_spectacular.generators import SchemaGenerator
from jsonschema import Draft202012Validator
from rest_framework.test import APIClient

from compliance.checks.run import check_site
from compliance.models import Run
from roster.models import User
from tests.cast import Cast

ROOT = "/api/v1/"


@cache
def schema() -> dict[str, Any]:
    """The OpenAPI 3.1 description, whose components are JSON Schema 2020-12."""
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return made


def assert_as_described(method: str, address: str, answer: Any) -> None:
    """The answer is what the schema says of this address, method and status."""
    described = "/" + resolve(address).route.replace("<int:pk>", "{id}")
    responses = schema()["paths"][described][method.lower()]["responses"]
    content = responses[str(answer.status_code)]["content"]
    kind = answer.headers["Content-Type"].split(";")[0]
    Draft202012Validator(
        {**content[kind]["schema"], "components": schema()["components"]},
        format_checker=Draft202012Validator.FORMAT_CHECKER,
    ).validate(answer.json())


class Asker:
    """Asks the API as somebody."""

    def __init__(self, user: User | None = None) -> None:
        self.client = APIClient()
        if user:
            self.client.force_login(user)

    def get(self, address: str, /, **asked: Any) -> Any:
        """GET, below the root of the API."""
        answer = self.client.get(ROOT + address, asked)
        assert_as_described("get", ROOT + address, answer)
        return answer

    def post(self, address: str, /, **said: Any) -> Any:
        """POST as JSON, below the root of the API."""
        answer = self.client.post(ROOT + address, json.dumps(said), content_type="application/json")
        assert_as_described("post", ROOT + address, answer)
        return answer


@pytest.fixture
def checked(cast: Cast) -> Cast:
    """The cast, after tonight's check of both sites."""
    for site in (cast.ferrowick, cast.tansy_gate):
        check_site(site=site, trigger=Run.Trigger.HAND)
    return cast


@pytest.fixture(autouse=True)
def _no_throttle_left_over() -> Iterator[None]:
    yield
    store.clear()
