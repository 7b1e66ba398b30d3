"""The page on who may do what: role by thing and act, and what every address is about."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import get_resolver

from compliance.reports.markdown import table
from compliance.web.gatekeeper import addresses, is_open
from compliance.web.gates import BY_TOKEN, GATES
from roster.models import Role
from roster.permits import BY_GRANT, PERMITS, Act, Permit, Thing, roles_with


@dataclass(frozen=True, slots=True)
class Address:
    """One address, and the permit that it asks for. Without one it asks for a sign-in, or for nothing if it is open."""

    name: str
    path: str
    permit: Permit | None
    is_open: bool

    @property
    def who(self) -> str:
        """Who may come in, in words."""
        if self.name in BY_TOKEN:
            return "whoever sends its token; nobody where none is set"
        if self.is_open:
            return "everybody, also strangers"
        if self.permit is None:
            return "everybody who has signed in"
        return ", ".join(role.label for role in roles_with(self.permit)) + _granted(self.permit)


def all_addresses() -> list[Address]:
    """Return every address of the pages and of the API by name; the repair site, shut to every role, is left out."""
    found = []
    for name, pattern in addresses(get_resolver().url_patterns):
        if name.startswith("admin:"):
            continue
        view = getattr(pattern.callback, "cls", None)
        permit = view.permit if view else GATES.get(name)
        found.append(Address(name, f"/{pattern.pattern}", permit, view is None and is_open(pattern.callback)))
    return sorted(found, key=lambda each: each.name)


def access_page() -> str:
    """Return the page as Markdown."""
    things = [
        (thing.value, act.value, *(_mark(role, Permit(thing, act)) for role in Role))
        for thing in Thing
        for act in Act
        if act in PERMITS[thing]
    ]
    shown = [
        (f"`{each.name}`", f"{each.permit.act.value}: {each.permit.thing.value}" if each.permit else "", each.who)
        for each in all_addresses()
    ]
    return "\n".join(
        [
            "# Who may do what\n",
            "A role is held by a post: in one classroom (teacher, substitute), at one site, at every site, or for one "
            "child (guardian), between two dates. A role opens an address; which rows are shown there follows from the "
            "place of the post. What is not one's own is answered as not found.\n",
            "“if granted”: an administrator has it only with a post to which the medical text was granted.\n",
            table(("Thing", "Act", *(role.label for role in Role)), things),
            "\n## Every address\n",
            table(("Address", "What it is about", "Who may come in"), shown),
            "\nThe repair site (`/repair/`) is shut to every role: only a superuser, made on the machine, gets in.",
            "",
        ]
    )


def _mark(role: Role, permit: Permit) -> str:
    if role in roles_with(permit):
        return "yes"
    return "if granted" if role == Role.ADMINISTRATOR and permit in BY_GRANT else ""


def _granted(permit: Permit) -> str:
    return "; an administrator if granted" if permit in BY_GRANT else ""
