"""The world that attacks are tried on, and who may come in where."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client

from roster.models import User
from tests.cast import Cast
from tests.web.doors import ACTORS, DOORS, World, after_a_night, may_come_in


@pytest.fixture
def world(cast: Cast) -> World:
    """The cast after a night."""
    return after_a_night(cast)


def signed_in(user: User, **how: Any) -> Client:
    """A client signed in as the person."""
    client = Client(**how)
    client.force_login(user)
    return client


def insiders(world: World, **how: Any) -> Iterator[tuple[str, Client]]:
    """Every address with somebody signed in whom its gate lets in; the way out comes last."""
    actors = {role: getattr(world.cast, name) for name, role in ACTORS.items()}
    clients: dict[User, Client] = {}
    for name in sorted(DOORS, key=lambda each: each == "sign-out"):
        roles = may_come_in(name)
        allowed = [actor for role, actor in actors.items() if role in roles]
        assert allowed, f"nobody of the cast may come to {name}"
        if allowed[0] not in clients:
            clients[allowed[0]] = signed_in(allowed[0], **how)
        yield name, clients[allowed[0]]
