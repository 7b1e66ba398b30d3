"""Every address as everybody: who may come in is written down here, and an address that is not fails the walk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral, Run, TreatCheck
from menus.models import Label, Product
from roster.models import Role, User
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory, labelled

T, K, L, A = Role.TEACHER, Role.KITCHEN, Role.LICENSED, Role.ADMINISTRATOR
EVERYBODY = frozenset({*Role, None})
"""With or without a post."""


@dataclass(frozen=True)
class World:
    """The cast after a night, with something of Ferrowick behind every address that names a row."""

    cast: Cast
    check: TreatCheck
    run: Run
    referral: Referral
    product: Product

    @property
    def label(self) -> Label:
        return self.product.labels.get()


@dataclass(frozen=True)
class Door:
    """Who may come in, and how one knocks. With `of`, what the address names is Ferrowick's alone."""

    roles: frozenset[Role | None]
    named: dict[str, Any] = field(default_factory=dict)
    of: Callable[[World], dict[str, Any]] | None = None
    asks: Callable[[World], dict[str, Any]] = field(default=lambda world: {})
    method: str = "get"


def door(*roles: Role, **more: Any) -> Door:
    """A door for these roles."""
    return Door(frozenset(roles), **more)


def today(world: World) -> dict[str, Any]:
    """The question about today at Ferrowick."""
    day = timezone.localdate().isoformat()
    return {"first": day, "last": day}


OPEN = {
    "healthz": {},
    "emergency": {},
    "sign-in": {},
    "welcome": {"uidb64": "MQ", "token": "used-up"},
}
"""Addresses that strangers may see."""

PAGES: dict[str, Door] = {
    "home": Door(EVERYBODY),
    "rules": Door(EVERYBODY),
    "sign-out": Door(EVERYBODY, method="post"),
    "today": door(T, K, L, A),
    "treat": door(T, K, L, A),
    "treat-matches": door(T, K, L, A, asks=lambda world: {"words": "oat"}),
    "treat-history": Door(EVERYBODY),  # an empty list for who sees no class: see below
    "treat-result": door(T, K, L, A, of=lambda world: {"pk": world.check.pk}),
    "cycle": door(K, L, A),
    "cycle-check": door(K, L, A),
    "cycle-recheck": door(K, L, A, method="post"),
    "serving": door(K, L, A, of=lambda world: {"pk": world.cast.servings[0].pk}),
    "label-work": door(K, L, A),
    "label": door(K, L, A, of=lambda world: {"pk": world.label.pk}),
    "label-preview": door(K, L, A, method="post"),
    "label-new": door(K, L, A, of=lambda world: {"pk": world.product.pk}),
    "label-same": door(
        K,
        L,
        A,
        of=lambda world: {"pk": world.product.pk},
        asks=lambda world: {"label": world.label.pk},
        method="post",
    ),
    "products": door(K, L, A),
    "product": door(K, L, A, of=lambda world: {"pk": world.product.pk}),
    "product-new": door(K, L, A),
    "exceptions": door(L, A),
    "exceptions-export": door(L, A, named={"suffix": "csv"}),
    "runs": door(L, A),
    "run": door(L, A, of=lambda world: {"pk": world.run.pk}),
    "run-again": door(L, A, of=lambda world: {"pk": world.run.pk}, method="post"),
    "referrals": door(L),
    "referral": door(L, of=lambda world: {"pk": world.referral.pk}),
    "imports": door(K, L, A),
    "import-products": door(K, L, A),
    "import-recipes": door(K, L, A),
    "import-cycle": door(K, L, A),
    "import-restrictions": door(L, A),
    "import-roster": door(A),
}

API: dict[str, Door] = {
    "api-schema": door(T, K, L, A),
    "api-treat-checks": door(T, K, L, A),
    "api-treat-check": door(T, K, L, A, of=lambda world: {"pk": world.check.pk}),
    "api-servings": door(T, K, L, A, asks=lambda world: {**today(world), "site": "ferrowick"}),
    "api-exceptions": door(T, K, L, A, asks=today),
    "api-classrooms": door(T, K, L, A),
    "api-children": door(T, K, L, A, of=lambda world: {"pk": world.cast.larks.pk}),
    "api-runs": door(K, L, A),
    "api-run": door(K, L, A, of=lambda world: {"pk": world.run.pk}),
}

OTHERS = {"import-template"}
"""Addresses with a test of their own below."""

DOORS = PAGES | API


def addresses(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Every address of the service by name, with the space it stands in."""
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from addresses(each.url_patterns, space or each.namespace or "")
        else:
            yield f"{space}:{each.name}" if space else str(each.name), each


def every() -> list[tuple[str, URLPattern]]:
    """Every address of the service."""
    return list(addresses(get_resolver().url_patterns))


@pytest.fixture
def world(cast: Cast) -> World:
    """The cast, checked, with a treat check, a referral and a product of Ferrowick's own."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    product = labelled("wheat flour, sugar", name="Bun", site=cast.ferrowick)
    return World(cast, check, Run.objects.get(), Referral.objects.filter(child=cast.kofi).latest("pk"), product)


def knock(client: Client, world: World, name: str) -> Any:
    """Ask for the address as its door says."""
    this = DOORS[name]
    address = reverse(name, kwargs=this.of(world) if this.of else this.named)
    return getattr(client, this.method)(address, this.asks(world))


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
    """A new page or a new address of the API needs a line here that says who may come in."""
    named = {name for name, _ in every() if not name.startswith("admin:")}
    assert named == OPEN.keys() | DOORS.keys() | OTHERS


@pytest.mark.django_db
def test_open_addresses_are_open() -> None:
    """Four addresses answer strangers: health, the steps in an emergency, the sign-in, a one-time link."""
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


ACTORS = {"rosa": T, "greta": K, "hakim": L, "june": A, "wren": None}


@pytest.mark.parametrize("actor", ACTORS)
def test_each_role_comes_in_where_it_may_and_nowhere_else(world: World, actor: str) -> None:
    """Where a role may not come in, the answer is 403 or 404."""
    role, wrong, client = ACTORS[actor], {}, signed_in(getattr(world.cast, actor))
    for name, this in sorted(DOORS.items(), key=lambda each: each[0] == "sign-out"):
        answer = knock(client, world, name)
        fits = came_in(answer) if role in this.roles else answer.status_code in (403, 404)
        if not fits:
            wrong[name] = answer.status_code
    assert not wrong


def outsiders(cast: Cast) -> list[User]:
    """Somebody of each role whose posts reach Tansy Gate alone."""
    licensed: Any = UserFactory(username="vera")
    administrator: Any = UserFactory(username="ansel")
    PostFactory(user=licensed, role=Role.LICENSED, site=cast.tansy_gate)
    PostFactory(user=administrator, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    return [cast.dmitri, cast.pavel, licensed, administrator]


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
        ("greta", "products", 200),
        ("greta", "restrictions", 404),
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
