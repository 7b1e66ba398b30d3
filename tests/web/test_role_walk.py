"""Every address as everybody: the answers are what the table of gates says, and an address without a line fails."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from compliance.web.gatekeeper import addresses
from roster.models import Role, User
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory
from tests.web.doors import ACTORS, API, DOORS, OPEN, OTHERS, PAGES, World, after_a_night, knock, may_come_in


def every() -> list[tuple[str, URLPattern]]:
    """Every address of the service."""
    return list(addresses(get_resolver().url_patterns))


@pytest.fixture
def world(cast: Cast) -> World:
    """The cast after a night."""
    return after_a_night(cast)


def signed_in(user: User) -> Client:
    """A client signed in as the person."""
    client = Client()
    client.force_login(user)
    return client


def came_in(answer: Any) -> bool:
    """Whether the address answered with what it is for. Going on to another page counts; the sign-in page does not."""
    if answer.status_code in (301, 302):
        return not answer.headers["Location"].startswith(reverse("sign-in")) or answer.wsgi_request.path == "/sign-out/"
    return answer.status_code < 400


def test_every_address_is_on_the_list() -> None:
    """A new page or a new address of the API needs a line in the table, and a door here by which it is tried."""
    named = {name for name, _ in every() if not name.startswith("admin:")}
    assert named == OPEN.keys() | DOORS.keys() | OTHERS


@pytest.mark.django_db
def test_open_addresses_are_open() -> None:
    """Few addresses answer strangers: health and fitness, the steps in an emergency, the sign-in, a one-time link."""
    for name, kwargs in OPEN.items():
        assert Client().get(reverse(name, kwargs=kwargs)).status_code == 200, name


def test_strangers_are_sent_to_sign_in(world: World) -> None:
    """Every page leads a stranger to the sign-in page, and the API refuses; neither says whether the row exists."""
    wrong = {}
    for name in DOORS:
        answer = knock(Client(), world, name)
        if name in API:
            fits = answer.status_code in (401, 403)
        else:
            fits = answer.status_code == 302 and answer.headers["Location"].startswith(reverse("sign-in"))
        if not fits:
            wrong[name] = answer.status_code
    assert not wrong


@pytest.mark.parametrize("actor", ACTORS)
def test_each_role_comes_in_where_it_may_and_nowhere_else(world: World, actor: str) -> None:
    """Where a role may not come in, the answer is 403 or 404."""
    role, wrong, client = ACTORS[actor], {}, signed_in(getattr(world.cast, actor))
    for name in sorted(DOORS, key=lambda each: each == "sign-out"):
        answer = knock(client, world, name)
        fits = came_in(answer) if role in may_come_in(name) else answer.status_code in (403, 404)
        if not fits:
            wrong[name] = answer.status_code
    assert not wrong


def outsiders(cast: Cast) -> list[User]:
    """Somebody of each role whose posts reach Tansy Gate alone."""
    licensed: Any = UserFactory(username="vera")
    administrator: Any = UserFactory(username="ansel")
    PostFactory(user=licensed, role=Role.LICENSED, site=cast.tansy_gate)
    PostFactory(user=administrator, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    manager: Any = UserFactory(username="milo")
    auditor: Any = UserFactory(username="anton")
    guardian: Any = UserFactory(username="gwen")
    PostFactory(user=manager, role=Role.MANAGER, site=cast.tansy_gate)
    PostFactory(user=auditor, role=Role.AUDITOR, site=cast.tansy_gate)
    PostFactory(user=guardian, role=Role.GUARDIAN, child=cast.ravi)
    return [cast.dmitri, cast.pavel, licensed, administrator, manager, auditor, guardian]


def test_rows_of_another_site_are_not_found(world: World) -> None:
    """What is Ferrowick's is 404 (or 403) to every role at Tansy Gate: the answer does not tell that it exists."""
    wrong = {
        (name, user.username): answer.status_code
        for user in outsiders(world.cast)
        for client in (signed_in(user),)
        for name, this in DOORS.items()
        if this.of and (answer := knock(client, world, name)).status_code not in (403, 404)
    }
    assert not wrong


def test_another_site_cannot_be_asked_for_by_name(world: World) -> None:
    """`?site=` and `?class=` of another site are refused, not passed over."""
    asked: dict[str, Any] = {"site": "ferrowick", "class": world.cast.larks.pk, "classroom": world.cast.larks.pk}
    lists = {name: this.named for name, this in PAGES.items() if not this.of and this.method == "get"}
    wrong = set()
    for user in outsiders(world.cast):
        client = signed_in(user)
        for name, kwargs in lists.items():
            shown = client.get(reverse(name, kwargs=kwargs), asked).content
            if b"Larks" in shown or b"Ferrowick" in shown:
                wrong.add((name, user.username))
    assert not wrong


def test_who_has_no_post_sees_an_empty_history(world: World) -> None:
    """The list of treat checks opens for everybody, and holds none of a class that one may not look into."""
    answer = signed_in(world.cast.wren).get(reverse("treat-history"))
    assert answer.status_code == 200 and world.check.food.encode() not in answer.content


@pytest.mark.parametrize(
    ("who", "kind", "status"),
    [
        ("tomas", "products", 200),
        ("greta", "products", 404),
        ("tomas", "restrictions", 404),
        ("hakim", "restrictions", 200),
        ("rosa", "products", 404),
        ("june", "nothing", 404),
    ],
)
def test_templates_are_for_who_may_import(cast: Cast, who: str, kind: str, status: int) -> None:
    """An empty file is handed out with the import that it is for."""
    address = reverse("import-template", kwargs={"kind": kind, "form": "csv"})
    assert Client().get(address).headers["Location"].startswith(reverse("sign-in"))
    assert signed_in(getattr(cast, who)).get(address).status_code == status


def repair() -> list[str]:
    """Every address of the repair site but its way in and out, with 1 for whatever it asks for."""
    return [
        reverse(name, kwargs=dict.fromkeys(pattern.pattern.regex.groupindex, "1"))
        for name, pattern in every()
        if name.startswith("admin:") and not name.endswith((":None", ":app_list", ":login", ":logout"))
    ] + [reverse("admin:app_list", kwargs={"app_label": "roster"})]


def test_repair_is_shut_to_every_role(cast: Cast) -> None:
    """No post opens the repair site, nor does the mark of staff: all is turned back to its way in, which is shut."""
    User.objects.filter(pk=cast.june.pk).update(is_staff=True)
    way_in, sign_in = reverse("admin:login"), reverse("sign-in")
    stranger, june = Client(), signed_in(cast.june)
    assert len(repair()) > 100
    for client in (stranger, june):
        led = {each: client.get(each).headers.get("Location", "") for each in repair()}
        assert not {each: to for each, to in led.items() if not to.startswith((way_in, sign_in))}
    assert stranger.get(way_in).headers["Location"].startswith(sign_in)
    for user in (cast.june, cast.hakim, cast.greta, cast.rosa, cast.wren):
        assert signed_in(user).get(way_in).status_code == 404
