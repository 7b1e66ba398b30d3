"""Who may ask an address of the API: the default of every view, in a module of its own since the settings name it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rest_framework.permissions import IsAuthenticated

from roster.access import posts

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.views import APIView

    from roster.permits import Permit


class HoldsPost(IsAuthenticated):
    """Lets in who holds the view's permit today, and nobody where a view names none. One query."""

    message = "You hold no post today for which this address is meant. Ask an administrator if you should."

    def has_permission(self, request: Request, view: APIView) -> bool:
        permit: Permit | None = getattr(view, "permit", None)
        return super().has_permission(request, view) and permit is not None and bool(posts(request.user, permit))
