"""Every address of the service, and how one knocks there. Who may come in says the table of gates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.reports.reference_access import all_addresses
from compliance.web.orderwork_token import sealed
from roster.models import (
    Role,
)
from roster.permits import roles_with
from tests.web.world import (
    World,
    a_family_form,
    a_meal_plan,
    a_morning,
    a_proposal,
    a_statement,
    a_trial,
    after_a_night,
    shared_pudding,
)

__all__ = [
    "ACTORS",
    "API",
    "DOORS",
    "OPEN",
    "OTHERS",
    "PAGES",
    "Door",
    "World",
    "a_family_form",
    "a_meal_plan",
    "a_morning",
    "a_proposal",
    "a_statement",
    "a_trial",
    "address",
    "after_a_night",
    "knock",
    "may_come_in",
    "shared_pudding",
    "today",
]


@dataclass(frozen=True)
class Door:
    """How one knocks. With `of`, what the address names is Ferrowick's alone."""

    named: dict[str, Any] = field(default_factory=dict)
    of: Callable[[World], dict[str, Any]] | None = None
    asks: Callable[[World], dict[str, Any]] = field(default=lambda world: {})
    method: str = "get"


def today(world: World) -> dict[str, Any]:
    """The question about today at Ferrowick."""
    day = timezone.localdate().isoformat()
    return {"first": day, "last": day}


OPEN = {
    "healthz": {},
    "readyz": {},
    "emergency": {},
    "sign-in": {},
    "account_login": {},  # the same address, by the name that allauth has for it
    "welcome": {"uidb64": "MQ", "token": "used-up"},
}
"""Addresses that strangers may see."""

PAGES: dict[str, Door] = {
    "home": Door(),
    "rules": Door(),
    "sign-out": Door(method="post"),
    "account": Door(),
    "account-password": Door(),
    "account-elsewhere": Door(method="post"),
    "sign-in-again": Door(),
    "second-factor": Door(),
    "codes-set-up": Door(),
    "passkey-add": Door(),
    "recovery-renew": Door(),
    "people": Door(),
    "people-invite": Door(),
    "people-substitute": Door(method="post"),
    "person": Door(of=lambda world: {"pk": world.cast.greta.pk}),
    "person-account": Door(of=lambda world: {"pk": world.cast.greta.pk}, method="post"),
    "post-end": Door(of=lambda world: {"pk": world.cast.greta.posts.get().pk}, method="post"),
    "site-settings": Door(),
    "closures": Door(),
    "meal-patterns": Door(),
    "closure": Door(of=lambda world: {"pk": world.closure.pk}),
    "closure-lift": Door(of=lambda world: {"pk": world.closure.pk}, method="post"),
    "today": Door(),
    "today-state": Door(asks=lambda world: {"class": world.cast.larks.pk}),
    "treat": Door(),
    "treat-matches": Door(asks=lambda world: {"words": "oat"}),
    "treat-history": Door(),  # an empty list for who sees no class: see below
    "treat-result": Door(of=lambda world: {"pk": world.check.pk}),
    "treat-state": Door(of=lambda world: {"pk": world.check.pk}),
    "table-handed": Door(of=lambda world: {"pk": world.check.pk}, method="post"),
    "table-washed": Door(asks=lambda world: {"washing": "hands-gel"}, method="post"),
    "cycle": Door(),
    "cycle-check": Door(),
    "cycle-recheck": Door(method="post"),
    "serving": Door(of=lambda world: {"pk": world.cast.servings[0].pk}),
    "serving-state": Door(of=lambda world: {"pk": world.cast.servings[0].pk}),
    "serving-texture": Door(method="post", of=lambda world: {"pk": world.cast.servings[0].pk}),
    "order-of-work": Door(asks=lambda world: {"look": "1"}),
    "order-change": Door(asks=lambda world: {"order": sealed("ferrowick", timezone.localdate(), "lunch", ())}),
    "order-restore": Door(method="post"),
    "order-sheet": Door(),
    "whole-meals": Door(asks=lambda world: a_meal_plan(world.cast)),
    "whole-meals-work": Door(method="post"),
    "whole-meals-weeks": Door(),
    "whole-meals-now": Door(),
    "meal-counts": Door(asks=lambda world: a_meal_plan(world.cast)),
    "tray-cards": Door(asks=lambda world: a_meal_plan(world.cast)),
    "on-hand": Door(),
    "on-hand-end": Door(of=lambda world: {"pk": world.on_hand.pk}, method="post"),
    "kitchen-day": Door(),
    "kitchen-news": Door(),
    "kitchen-state": Door(asks=lambda world: {"site": "ferrowick", "day": timezone.localdate().isoformat()}),
    "kitchen-record": Door(method="post"),
    "kitchen-undo": Door(of=lambda world: {"pk": world.record.pk}, method="post"),
    "kitchen-dish": Door(of=lambda world: {"pk": world.cast.servings[0].pk}),
    "label-work": Door(),
    "label": Door(of=lambda world: {"pk": world.label.pk}),
    "photo": Door(of=lambda world: {"pk": world.photo.pk}),
    "label-preview": Door(method="post"),
    "label-how": Door(of=lambda world: {"pk": world.label.pk}),
    "word-new": Door(of=lambda world: {"pk": world.label.pk}),
    "words": Door(),
    "word": Door(of=lambda world: {"pk": world.word.pk}),
    "word-review": Door(of=lambda world: {"pk": world.word.pk}, method="post"),
    "word-withdraw": Door(of=lambda world: {"pk": world.word.pk}, method="post"),
    "label-new": Door(of=lambda world: {"pk": world.product.pk}),
    "label-same": Door(
        of=lambda world: {"pk": world.product.pk},
        asks=lambda world: {"label": world.label.pk},
        method="post",
    ),
    "products": Door(),
    "product": Door(of=lambda world: {"pk": world.product.pk}),
    "product-new": Door(),
    "exceptions": Door(),
    "exceptions-export": Door(named={"suffix": "csv"}),
    "runs": Door(),
    "run": Door(of=lambda world: {"pk": world.run.pk}),
    "run-again": Door(of=lambda world: {"pk": world.run.pk}, method="post"),
    "child-emergency": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "emergency-sheet": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "room-sheet": Door(),
    "child-plan": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "incidents": Door(),
    "incident": Door(of=lambda world: {"pk": world.incident.pk}),
    "incident-report": Door(of=lambda world: {"pk": world.incident.pk}),
    "incident-new": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "nights": Door(),
    "nights-now": Door(),
    "letter-again": Door(of=lambda world: {"pk": world.letter.pk}, method="post"),
    "site-again": Door(of=lambda world: {"pk": world.cast.ferrowick.pk}, method="post"),
    "mail": Door(),
    "mail-again": Door(of=lambda world: {"pk": world.mail.pk}, method="post"),
    "mail-all-again": Door(method="post"),
    "referrals": Door(),
    "referral": Door(of=lambda world: {"pk": world.referral.pk}),
    "due": Door(),
    "amount": Door(),
    "meals": Door(asks=lambda world: {"meal": "lunch"}),
    "meal-exchange": Door(asks=lambda world: a_trial(world.cast)),
    "milk-drink": Door(asks=lambda world: {"program": "nslp-lunch", "protein_g": "1"}),
    "protein": Door(asks=lambda world: {"standard": "fao-2013", "food_1": "egg", "grams_1": "50"}),
    "children": Door(),
    "child": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "child-report": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "restriction": Door(of=lambda world: {"pk": world.restriction.pk}),
    "restriction-end": Door(of=lambda world: {"pk": world.restriction.pk}),
    "child-allowances": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "allowance-withdraw": Door(of=lambda world: {"pk": world.allowance.pk}),
    "statement-new": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "statement": Door(of=lambda world: {"pk": world.statement.pk}),
    "statement-scan": Door(of=lambda world: {"pk": world.statement.pk}),
    "statement-review": Door(of=lambda world: {"pk": world.statement.pk}),
    "record": Door(),
    "record-verify": Door(method="post"),
    "record-export": Door(named={"suffix": "csv"}),
    "guardian": Door(),
    "guardian-child": Door(of=lambda world: {"pk": world.cast.noor.pk}),
    "lunchboxes": Door(),
    "lunchbox": Door(of=lambda world: {"pk": world.cast.noor.pk}),
    "lunchbox-list": Door(),
    "lunchbox-labels": Door(),
    "approvals": Door(),
    "approval-new": Door(of=lambda world: {"pk": world.product.pk}),
    "approval-end": Door(of=lambda world: {"pk": world.approval.pk}, method="post"),
    "child-texture": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "guardian-need": Door(of=lambda world: {"pk": world.cast.noor.pk}),
    "guardian-request": Door(of=lambda world: {"pk": world.cast.noor.pk}),
    "guardian-scan": Door(of=lambda world: {"pk": world.sent.pk}),
    "guardian-paper": Door(named={"language": "es"}),
    "from-guardians": Door(),
    "from-guardian": Door(of=lambda world: {"pk": world.sent.pk}),
    "from-guardian-scan": Door(of=lambda world: {"pk": world.sent.pk}),
    "imports": Door(),
    "import-products": Door(),
    "import-recipes": Door(),
    "import-supplied": Door(),
    "import-nutrition": Door(),
    "import-cycle": Door(),
    "import-closures": Door(),
    "import-restrictions": Door(),
    "import-roster": Door(),
    "import-fhir": Door(),
    "health-record": Door(of=lambda world: {"pk": world.proposal.record_id}),
    "health-item-seen": Door(of=lambda world: {"pk": world.proposal.pk}, method="post"),
    "child-handover": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "child-record": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "child-fhir": Door(of=lambda world: {"pk": world.cast.kofi.pk}),
    "guardian-copy": Door(of=lambda world: {"pk": world.cast.noor.pk}),
}

API: dict[str, Door] = {
    "api-schema": Door(),
    "api-treat-checks": Door(),
    "api-treat-check": Door(of=lambda world: {"pk": world.check.pk}),
    "api-servings": Door(asks=lambda world: {**today(world), "site": "ferrowick"}),
    "api-exceptions": Door(asks=today),
    "api-classrooms": Door(),
    "api-children": Door(of=lambda world: {"pk": world.cast.larks.pk}),
    "api-runs": Door(),
    "api-nights": Door(),
    "api-night": Door(of=lambda world: {"pk": world.night.pk}),
    "api-run": Door(of=lambda world: {"pk": world.run.pk}),
}

OTHERS = {
    "import-template",
    "photo-draft",
    "incident-note",
    "recovery-codes",
    "factor-remove",
    "mfa_authenticate",
    "openid_connect_login",
    "openid_connect_callback",
    "metrics",
}
"""Addresses with a test of their own: in the walk, in test_photos.py, in test_incidents.py and in test_metrics.py."""

DOORS = PAGES | API


def may_come_in(name: str) -> frozenset[Role | None]:
    """The roles for which the table opens the address; None stands for whoever holds no post."""
    permit = next(each.permit for each in all_addresses() if each.name == name)
    return frozenset(roles_with(permit)) if permit else frozenset({*Role, None})


ACTORS = {
    "rosa": Role.TEACHER,
    "sefa": Role.SUBSTITUTE,
    "greta": Role.KITCHEN,
    "tomas": Role.MANAGER,
    "hakim": Role.LICENSED,
    "june": Role.ADMINISTRATOR,
    "ursula": Role.AUDITOR,
    "amara": Role.GUARDIAN,
    "wren": None,
}
"""Somebody of the cast for each role at Ferrowick, and somebody without a post."""


def address(name: str, world: World) -> str:
    """Where the door is."""
    this = DOORS[name]
    return reverse(name, kwargs=this.of(world) if this.of else this.named)


def knock(client: Client, world: World, name: str) -> Any:
    """Ask for the address as its door says."""
    this = DOORS[name]
    return getattr(client, this.method)(address(name, world), this.asks(world))
