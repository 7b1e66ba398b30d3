"""Ids of another class or site in every parameter that any page or address of the API takes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from roster.models import Action, Allowance, Restriction, Role
from tests.attacks.conftest import signed_in
from tests.factories import ClassroomFactory, PostFactory, UserFactory
from tests.web.doors import DOORS, World, address
from tests.web.test_role_walk import outsiders

NAMES = (b"Larks", b"Ferrowick", b"Noor", b"Mateo", b"Anneke", b"Ifeoma", b"Kofi", b"Saoirse", b"Yusuf", b"Bao")
"""What stands in Ferrowick's records and nowhere at Tansy Gate."""


def ids(world: World) -> dict[str, Any]:
    """Something of Ferrowick's under every name by which a request may name a row."""
    cast, day = world.cast, timezone.localdate().isoformat()
    serving, child = cast.servings[0].pk, cast.kofi.pk
    return {
        "site": "ferrowick",
        "chain": cast.ferrowick.pk,
        "class": cast.larks.pk,
        "classroom": cast.larks.pk,
        "room": cast.larks.pk,
        "child": child,
        "children": [child, cast.noor.pk],
        "serving": serving,
        "batch": serving,
        "dish": cast.servings[0].recipe_id,
        "recipe": cast.servings[0].recipe_id,
        "step": world.record.pk,
        "surface": world.record.surface_id,
        "other_surface": world.record.surface_id,
        "corrects": world.record.pk,
        "product": world.product.pk,
        "product_in": world.product.pk,
        "label": world.label.pk,
        "photo": world.photo.pk,
        "word": world.word.pk,
        "run": world.run.pk,
        "check": world.check.pk,
        "referral": world.referral.pk,
        "also": [world.referral.pk],
        "restriction": world.restriction.pk,
        "under": [world.restriction.pk],
        "statement": world.statement.pk,
        "replaces": world.statement.pk,
        "person": cast.rosa.pk,
        "user": cast.rosa.pk,
        "first": day,
        "last": day,
        "day": day,
        "look": "1",
        "washing": "table-soap",
        "no_label": "on",
        "when": "now",
        "words": "un",
        "q": "un",
    }


BY_CHANCE = re.compile(rb'(?:csrfmiddlewaretoken" value=|X-CSRFToken": |nonce=)"[A-Za-z0-9+/=_-]+"')
"""Letters drawn at random, which once in a while spell a name as short as “Bao”."""


def shows_something(body: bytes, names: Sequence[bytes] = NAMES) -> bool:
    """Whether the answer holds one of these names, by default any of Ferrowick's."""
    said = BY_CHANCE.sub(b"", body)
    return any(name in said for name in names)


def test_no_page_shows_anything_of_another_site(world: World) -> None:
    """Every address that names no row itself, asked with all of Ferrowick's ids at once, and one by one."""
    asked, wrong = ids(world), set()
    pages = [name for name, this in DOORS.items() if not this.of and this.method == "get"]
    for user in outsiders(world.cast):
        client = signed_in(user)
        for name in pages:
            if shows_something(client.get(address(name, world), asked).content):
                wrong.add((name, user.username))
    assert not wrong


def test_letters_drawn_at_random_are_no_name() -> None:
    """And a name beside them is one."""
    token = b'<input type="hidden" name="csrfmiddlewaretoken" value="xBaoT4"><script nonce="KofiBao+/=="></script>'
    token += b"""<body hx-headers='{"X-CSRFToken": "xBaoT4"}'>"""
    assert not shows_something(token)
    assert shows_something(token + b"Bao Example")
    assert shows_something(b'<input name="child" value="Bao">')


def test_nothing_of_another_site_is_changed(world: World) -> None:
    """A POST with all of Ferrowick's ids to every address, by everybody of Tansy Gate, leaves no entry at Ferrowick.

    Whatever happened at Ferrowick, or to one of its children, would be on its record.
    """
    said = ids(world)
    addresses = {name: address(name, world) for name in DOORS if name != "sign-out"}
    last, held = Action.objects.latest("pk").pk, (Restriction.objects.count(), Allowance.objects.count())
    wrong = set()
    for user in outsiders(world.cast):
        client = signed_in(user)
        for name, where in addresses.items():
            answer = client.post(where, said)
            if shows_something(answer.content) and answer.status_code < 400:
                wrong.add((name, user.username, answer.status_code))
    there = Action.objects.filter(pk__gt=last, site=world.cast.ferrowick).values_list("subject", "actor__username")
    assert not wrong
    assert not list(there)
    assert (Restriction.objects.count(), Allowance.objects.count()) == held


@pytest.fixture
def neighbour(world: World) -> Any:
    """A teacher of another class of the same school."""
    room: Any = ClassroomFactory(site=world.cast.ferrowick, name="Wrens")
    user: Any = UserFactory(username="nils")
    PostFactory(user=user, role=Role.TEACHER, classroom=room, site=None)
    return user


def test_a_teacher_sees_nothing_of_the_class_next_door(world: World, neighbour: Any) -> None:
    """The school's name is theirs; the class and its children are not."""
    client, asked, wrong = signed_in(neighbour), ids(world), {}
    of_children = [name for name in NAMES if name != b"Ferrowick"]
    for name, this in DOORS.items():
        if name == "sign-out":
            continue
        answer = client.get(address(name, world), asked) if this.method == "get" else None
        if answer is not None and shows_something(answer.content, of_children):
            wrong[name] = answer.status_code
    assert not wrong


def test_a_check_for_the_class_next_door_is_not_made(world: World, neighbour: Any) -> None:
    """Neither on the page nor through the API."""
    client = signed_in(neighbour)
    made = client.post(reverse("treat"), {"class": world.cast.larks.pk, "when": "now", "no_label": "on", "name": "x"})
    assert made.status_code == 404
    asked = {"classroom": world.cast.larks.pk, "served_at": timezone.now().isoformat(), "no_label": True}
    answer = client.post(reverse("api-treat-checks"), asked, content_type="application/json")
    assert answer.status_code == 400 and answer.json()["errors"][0]["code"] == "does_not_exist"
