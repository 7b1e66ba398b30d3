"""How often one person may ask: the same counts for pages and for the API."""

from __future__ import annotations

from typing import Any

from rest_framework.throttling import UserRateThrottle


class TreatLimit(UserRateThrottle):
    """Treat checks asked. Looking at answers is not counted: whoever asked must be able to read."""

    scope = "treat"

    def allow_request(self, request: Any, view: Any) -> bool:
        return request.method != "POST" or super().allow_request(request, view)


class SearchLimit(UserRateThrottle):
    """Searches, whichever page they are on."""

    scope = "search"
