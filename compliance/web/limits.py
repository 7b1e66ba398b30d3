"""Pages that one person may ask for only so often; beyond it they say in plain words when to try again."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any, TypeVar, cast

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from rest_framework.throttling import SimpleRateThrottle

from compliance.web.signed_in import SignedInRequest

View = TypeVar("View", bound=Callable[..., HttpResponse])


def limited(limit: type[SimpleRateThrottle]) -> Callable[[View], View]:
    """Let the view answer as often as the limit allows each person; beyond it answer 429, and until when."""

    def around(view: View) -> View:
        @wraps(view)
        def answer(request: SignedInRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            counter = limit()
            if counter.allow_request(cast(Any, request), cast(Any, None)):  # it asks for user, method and META alone
                return view(request, *args, **kwargs)
            return _too_often(request, counter)

        return cast(View, answer)

    return around


def _too_often(request: SignedInRequest, counter: SimpleRateThrottle) -> HttpResponse:
    seconds = max(1, math.ceil(counter.wait() or 60))
    again = timezone.now() + timedelta(seconds=seconds)
    context = {"seconds": seconds, "again": again, "is_treat": getattr(counter, "scope", "") == "treat"}
    response = render(request, "429.html", context, status=429)
    response.headers["Retry-After"] = str(seconds)
    return response
