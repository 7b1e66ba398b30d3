"""Requests made up from the schema, as each role: no fault of ours, answers as described, nothing beyond the role."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import hypothesis
import pytest
import requests
import schemathesis
from django.test import Client
from hypothesis import HealthCheck, Phase, given
from rest_framework.throttling import SimpleRateThrottle
from schemathesis.checks import CHECKS, load_all_checks

from tests.api.conftest import schema
from tests.cast import Cast
from tests.web.doors import ACTORS, World, after_a_night

HERE = "http://testserver"
WANTED = ("not_a_server_error", "status_code_conformance", "content_type_conformance", "response_schema_conformance")
FERROWICK = ("Noor", "Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi", "Bao", "Larks")
TANSY_GATE = ("Ravi", "Petra", "Minnows")
EVERYWHERE = ("hakim", "june")
"""Whose posts reach every site, and who may see every child; all others here are Ferrowick's, or see no child."""

NO_CHILD = ("ursula", "wren", "amara")
"""Who sees no class list at all. Amara sees her own child on pages, and nothing through the API."""

MODES = (schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE)

few = hypothesis.settings(
    max_examples=5,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[*HealthCheck],
    phases=[Phase.generate],
)


@pytest.fixture
def world(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> World:
    """The cast after a night, and nobody is slowed."""
    for scope in SimpleRateThrottle.THROTTLE_RATES:
        monkeypatch.setitem(SimpleRateThrottle.THROTTLE_RATES, scope, "100000/min")
    return after_a_night(cast)


def operations() -> Iterator[Any]:
    """Every address and method that the schema describes."""
    described = schemathesis.openapi.from_dict(schema())
    for path, methods in schema()["paths"].items():
        if not path.endswith("/schema/"):
            for method in methods:
                yield described[path][method.upper()]


def aimed(case: Any, world: World, odd: bool) -> None:
    """Let every second request name what is there, since made-up numbers seldom do."""
    if not odd:
        return
    ids = {
        "treat": world.check.pk,
        "runs": world.run.pk,
        "classrooms": world.cast.larks.pk,
        "nights": world.night.pk,
    }
    if "id" in (case.path_parameters or {}):
        case.path_parameters["id"] = next(pk for name, pk in ids.items() if name in case.path)
    if isinstance(case.body, dict) and "classroom" in case.body:
        case.body["classroom"] = world.cast.larks.pk


def sent(case: Any, client: Client) -> schemathesis.Response:
    """Send what was made up to the service, and return the answer as a client of HTTP would get it."""
    made = requests.Request(**case.as_transport_kwargs(base_url=HERE)).prepare()
    passed_on = {name: value for name, value in made.headers.items() if name in ("Accept",)}
    answer = client.generic(
        str(made.method),
        made.path_url,
        made.body or b"",
        content_type=made.headers.get("Content-Type", "application/json"),
        headers=passed_on,
    )
    return schemathesis.Response(
        status_code=answer.status_code,
        headers={name: [value] for name, value in answer.headers.items()},
        content=answer.content,
        request=made,
        elapsed=0.0,
        verify=True,
    )


def beyond(who: str, body: str) -> list[str]:
    """Names in the answer that the person must not see."""
    hidden = () if who in EVERYWHERE else TANSY_GATE
    hidden = (*hidden, *FERROWICK) if who in NO_CHILD else hidden
    return [name for name in hidden if name in body]


@pytest.mark.parametrize("who", ACTORS)
def test_no_request_breaks_the_service_or_the_role(world: World, who: str) -> None:
    """Sound and unsound requests to every address; each answer is described, and holds no name beyond the role."""
    client = Client(raise_request_exception=False)
    client.force_login(getattr(world.cast, who))
    load_all_checks()
    checks = CHECKS.get_by_names(WANTED)
    count = 0
    for operation in operations():
        for mode in MODES:

            @few
            @given(case=operation.as_strategy(generation_mode=mode))
            def ask(case: Any) -> None:
                nonlocal count
                count += 1
                aimed(case, world, odd=count % 2 == 1)
                answer = sent(case, client)
                case.validate_response(answer, checks=checks)
                assert not beyond(who, answer.text), json.dumps([case.method, case.path])

            ask()
    assert count > 50, "nothing was asked"


def test_the_names_would_be_seen(world: World) -> None:
    """The nurse of every site is shown children of both, so that the test above could find one."""
    client = Client()
    client.force_login(world.cast.hakim)
    for room, name in ((world.cast.larks, "Noor"), (world.cast.minnows, "Ravi")):
        body = client.get(f"/api/v1/classrooms/{room.pk}/children/").content.decode()
        assert name in body and beyond("rosa", body) == [each for each in TANSY_GATE if each in body]
