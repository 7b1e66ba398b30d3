"""Tell the record of actions who is signed in."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from roster.record.actor import acts


def acting(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware; it stands after the one that finds out who is signed in."""

    def answer(request: HttpRequest) -> HttpResponse:
        with acts(request.user.pk if request.user.is_authenticated else None):
            return get_response(request)

    return answer
