"""Every address of the service: who may come in, and how one knocks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import time, timedelta
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral, Run, TreatCheck
from compliance.web.orderwork_token import sealed
from menus.models import Deed, KitchenEvent, Label, LabelPhoto, Product, Word
from menus.services.kitchen import Doing, record_event
from roster.life.scan import Scan
from roster.life.statement import receive_statement
from roster.models import Credential, Restriction, Role, Statement
from tests.cast import Cast
from tests.factories import LabelPhotoFactory, PlanStepFactory, SurfaceFactory, WordFactory, labelled

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
    word: Word
    photo: LabelPhoto
    record: KitchenEvent
    statement: Statement

    @property
    def restriction(self) -> Restriction:
        """What stands under the statement."""
        return self.statement.restrictions.get()

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
    "table-handed": door(T, K, L, A, of=lambda world: {"pk": world.check.pk}, method="post"),
    "table-washed": door(T, K, L, A, asks=lambda world: {"washing": "hands-gel"}, method="post"),
    "cycle": door(K, L, A),
    "cycle-check": door(K, L, A),
    "cycle-recheck": door(K, L, A, method="post"),
    "serving": door(K, L, A, of=lambda world: {"pk": world.cast.servings[0].pk}),
    "order-of-work": door(K, L, A, asks=lambda world: {"look": "1"}),
    "order-change": door(K, L, A, asks=lambda world: {"order": sealed("ferrowick", timezone.localdate(), "lunch", ())}),
    "order-restore": door(K, L, A, method="post"),
    "order-sheet": door(K, L, A),
    "kitchen-day": door(K, L, A),
    "kitchen-news": door(K, L, A),
    "kitchen-record": door(K, method="post"),
    "kitchen-undo": door(K, of=lambda world: {"pk": world.record.pk}, method="post"),
    "kitchen-dish": door(K, of=lambda world: {"pk": world.cast.servings[0].pk}),
    "label-work": door(K, L, A),
    "label": door(K, L, A, of=lambda world: {"pk": world.label.pk}),
    "photo": door(K, L, A, of=lambda world: {"pk": world.photo.pk}),
    "label-preview": door(K, L, A, method="post"),
    "label-how": door(K, L, A, of=lambda world: {"pk": world.label.pk}),
    "word-new": door(K, L, A, of=lambda world: {"pk": world.label.pk}),
    "words": door(K, L, A),
    "word": door(K, L, A, of=lambda world: {"pk": world.word.pk}),
    "word-review": door(L, of=lambda world: {"pk": world.word.pk}, method="post"),
    "word-withdraw": door(L, of=lambda world: {"pk": world.word.pk}, method="post"),
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
    "due": door(L),
    "amount": door(L),
    "children": door(T, L, A),
    "child": door(L, of=lambda world: {"pk": world.cast.kofi.pk}),
    "child-report": door(T, L, A, of=lambda world: {"pk": world.cast.kofi.pk}),
    "restriction": door(L, of=lambda world: {"pk": world.restriction.pk}),
    "restriction-end": door(L, of=lambda world: {"pk": world.restriction.pk}),
    "statement-new": door(L, of=lambda world: {"pk": world.cast.kofi.pk}),
    "statement": door(L, of=lambda world: {"pk": world.statement.pk}),
    "statement-scan": door(L, of=lambda world: {"pk": world.statement.pk}),
    "statement-review": door(L, of=lambda world: {"pk": world.statement.pk}),
    "imports": door(K, L, A),
    "import-products": door(K, L, A),
    "import-recipes": door(K, L, A),
    "import-supplied": door(K, L, A),
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
    "api-runs": door(L, A),
    "api-run": door(L, A, of=lambda world: {"pk": world.run.pk}),
}

OTHERS = {"import-template", "photo-draft"}
"""Addresses with a test of their own: in the walk, and in test_photos.py."""

DOORS = PAGES | API


ACTORS = {"rosa": T, "greta": K, "hakim": L, "june": A, "wren": None}
"""Somebody of the cast for each role at Ferrowick, and somebody without a post."""


def after_a_night(cast: Cast) -> World:
    """The cast, checked, with a treat check, a referral and a product of Ferrowick's own."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    product = labelled("wheat flour, sugar, zorbalex", name="Bun", site=cast.ferrowick)
    word = WordFactory.create(label=product.labels.get(), proposed_by=cast.greta)
    photo = LabelPhotoFactory.create(label=product.labels.get(), site=cast.ferrowick, taken_by=cast.greta)
    referral = Referral.objects.filter(child=cast.kofi).latest("pk")
    return World(cast, check, Run.objects.get(), referral, product, word, photo, a_morning(cast), a_statement(cast))


def a_statement(cast: Cast) -> Statement:
    """What the nurse received for Kofi about egg, with its scan."""
    today = timezone.localdate()
    return receive_statement(
        child=cast.kofi,
        received_by=cast.hakim,
        under=[cast.kofi.restrictions.get(substance="egg")],
        further={},
        scan=Scan(b"%PDF-1.4 %%EOF", "application/pdf"),
        signatory="P. Example",
        credential=Credential.PRESCRIBER,
        licence_state="Illinois",
        signed_on=today,
        review_on=today + timedelta(days=365),
        program="nslp",
        omit="Egg in every form.",
    )


def a_morning(cast: Cast) -> KitchenEvent:
    """Two dishes on one slicer of Ferrowick's, and a wash of it by Greta."""
    slicer = SurfaceFactory.create(site=cast.ferrowick, name="Slicer")
    for hour, dish in enumerate((cast.dishes.peanut_sandwich, cast.dishes.ham_and_rice), start=9):
        PlanStepFactory.create(surface=slicer, at=time(hour), recipe=dish)
    wash = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse_sanitize")
    return record_event(site=cast.ferrowick, user=cast.greta, doing=wash)


def address(name: str, world: World) -> str:
    """Where the door is."""
    this = DOORS[name]
    return reverse(name, kwargs=this.of(world) if this.of else this.named)


def knock(client: Client, world: World, name: str) -> Any:
    """Ask for the address as its door says."""
    this = DOORS[name]
    return getattr(client, this.method)(address(name, world), this.asks(world))
