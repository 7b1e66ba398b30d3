"""Which pages each role is offered, in the order of their day."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext_noop

from compliance.web.signed_in import SignedInRequest
from roster.models import Role

PAGES: dict[Role, tuple[tuple[str, str], ...]] = {
    Role.TEACHER: (
        ("today", "My class"),
        ("treat", "Check a treat"),
        ("treat-history", "Past checks"),
        ("children", "Write down a report"),
        ("meals", "Meals of the week"),
    ),
    Role.SUBSTITUTE: (
        ("today", "My class"),
        ("treat", "Check a treat"),
        ("treat-history", "Past checks"),
    ),
    Role.KITCHEN: (
        ("cycle-check", "Check the cycle"),
        ("kitchen-day", "Kitchen today"),
        ("order-of-work", "Order of work"),
        ("label-work", "Labels to read"),
        ("products", "Products"),
        ("whole-meals", "Meals by child"),
        ("cycle", "Cycle menu"),
        ("meals", "Meals of the week"),
        ("words", "Words proposed"),
    ),
    Role.MANAGER: (
        ("cycle-check", "Check the cycle"),
        ("kitchen-day", "Kitchen today"),
        ("label-work", "Labels to read"),
        ("products", "Products"),
        ("exceptions", "Exceptions"),
        ("order-of-work", "Order of work"),
        ("whole-meals", "Meals by child"),
        ("cycle", "Cycle menu"),
        ("meals", "Meals of the week"),
        ("words", "Words proposed"),
        ("imports", "Imports"),
    ),
    Role.LICENSED: (
        ("referrals", "Referrals"),
        ("from-guardians", "From guardians"),
        ("due", "What is due"),
        ("incidents", "Incidents"),
        ("children", "Children"),
        ("exceptions", "Exceptions"),
        ("today", "Classes today"),
        ("treat", "Check a treat"),
        ("treat-history", "Treat checks"),
        ("lunchboxes", "Lunchboxes"),
        ("approvals", "Approved for rooms"),
        ("kitchen-day", "Kitchens today"),
        ("whole-meals", "Meals by child"),
        ("meals", "Meals of the week"),
        ("milk-drink", "Drinks for milk"),
        ("protein", "Protein of a meal"),
        ("label-work", "Labels to read"),
        ("words", "Words to review"),
        ("imports", "Imports"),
        ("import-fhir", "Health records"),
    ),
    Role.GUARDIAN: (("guardian", gettext_noop("My children")), ("lunchboxes", gettext_noop("Lunchboxes"))),
    Role.ADMINISTRATOR: (
        ("exceptions", "Exceptions"),
        ("incidents", "Incidents"),
        ("runs", "Runs"),
        ("nights", "Nights"),
        ("mail", "Mail"),
        ("imports", "Imports"),
        ("treat-history", "Treat checks"),
        ("children", "Children"),
        ("approvals", "Approved for rooms"),
        ("people", "People"),
        ("meals", "Meals of the week"),
        ("meal-patterns", "Meal patterns"),
        ("closures", "Calendar"),
        ("site-settings", "Site"),
    ),
    Role.AUDITOR: (("record", "Record of actions"),),
}


LONGEST_MENU = 9
"""More entries than this are folded: on a phone they would stand before the page itself."""

SHOWN = 5


@dataclass(frozen=True, slots=True)
class Link:
    """One entry of the menu."""

    address: str
    words: str
    here: bool


@dataclass(frozen=True, slots=True)
class Menu:
    """What base.html offers: the pages of one role, and the person's other roles."""

    role: Role | None
    links: tuple[Link, ...]
    others: tuple[Role, ...]

    @property
    def first(self) -> tuple[Link, ...]:
        """The entries that always show: all of a short menu; the first of a long one, and where the person is."""
        if len(self.links) <= LONGEST_MENU:
            return self.links
        return tuple(link for place, link in enumerate(self.links) if place < SHOWN or link.here)

    @property
    def more(self) -> tuple[Link, ...]:
        """The other entries, under one that unfolds them."""
        return tuple(link for link in self.links if link not in self.first)


def menu(request: SignedInRequest) -> Menu:
    """Return the menu for the person who asks."""
    held = held_roles(request)
    role = acting_role(request, held)
    here = request.resolver_match.url_name if request.resolver_match else ""
    links = tuple(Link(reverse(name), words, name == here) for name, words in PAGES.get(role, ())) if role else ()
    return Menu(role, links, tuple(other for other in held if other != role))


def held_roles(request: SignedInRequest) -> list[Role]:
    """Return the person's roles in the order of the design."""
    held = {post.role for post in request.posts}
    return [role for role in Role if role in held]


def acting_role(request: SignedInRequest, held: list[Role]) -> Role | None:
    """Return the role last chosen, if it is still held, else the first that is."""
    chosen = request.session.get("role")
    return next((role for role in held if role.value == chosen), held[0] if held else None)
