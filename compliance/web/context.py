"""What every page needs."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from compliance.web.navigation import Menu, menu
from menus.models import Site
from roster.access import visible_sites


class Page:
    """Values that base.html asks for; each is worked out only when a template does ask."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request
        self.now = timezone.now()

    @cached_property
    def menu(self) -> Menu:
        return menu(self._request)

    @cached_property
    def site(self) -> Site | None:
        """The first site of the person, whose clock a page shows when it is about no other."""
        return visible_sites(self._request.user).first()

    @cached_property
    def is_empty(self) -> bool:
        """Whether nobody has entered a school yet, so that no page has anything to show."""
        return not Site.objects.exists()


def page(request: HttpRequest) -> dict[str, Any]:
    """Return what base.html shows on every page."""
    return {"page": Page(request)}
