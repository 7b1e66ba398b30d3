"""Give each request an id, which its log lines and its answer carry: what somebody reports can be found again."""

from __future__ import annotations

import re
from collections.abc import Callable
from uuid import uuid4

from django.http import HttpRequest, HttpResponse

from compliance.operations.about import about

HEADER = "X-Request-ID"
FROM_PROXY = re.compile(r"[0-9a-f-]{16,64}")
"""An id that a proxy in front has given. Anybody may send the header, so nothing that could be words is taken."""


def request_id(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware; it stands first, so that what all others log has the id."""

    def answer(request: HttpRequest) -> HttpResponse:
        given = request.headers.get(HEADER, "").lower()
        number = given if FROM_PROXY.fullmatch(given) else uuid4().hex
        with about(request=number):
            response = get_response(request)
        response.headers[HEADER] = number
        return response

    return answer
