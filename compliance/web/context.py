"""What every page needs."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.utils import timezone

from compliance.web.navigation import Menu, menu
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import visible_sites
from roster.permits import Act, Permit, Thing, holds


class Page:
    """Values that base.html asks for; each is worked out only when a template does ask, the menu of nobody but who
    has signed in.
    """

    def __init__(self, request: SignedInRequest) -> None:
        self._request = request
        self.now = timezone.now()

    @cached_property
    def menu(self) -> Menu:
        return menu(self._request)

    @cached_property
    def reads_pointers(self) -> bool:
        """Whether the person is shown where a child's emergency papers are. Costs nothing beside the menu."""
        return any(holds(post, Permit(Thing.EMERGENCY, Act.READ)) for post in self._request.posts)

    @cached_property
    def site(self) -> Site | None:
        """The first site of the person, whose clock a page shows when it is about no other."""
        return visible_sites(self._request.user).first()

    @cached_property
    def is_empty(self) -> bool:
        """Whether nobody has entered a school yet, so that no page has anything to show."""
        return not Site.objects.exists()


def page(request: SignedInRequest) -> dict[str, Any]:
    """Return what base.html shows on every page."""
    return {"page": Page(request)}
