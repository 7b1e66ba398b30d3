"""Keep pages about children out of the caches of shared devices."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control

SIGN_OUT = "/sign-out/"


def no_store(answer: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return middleware that lets nobody keep what a signed-in person was shown, the browser's back button included.

    A view that says itself who may keep its answer is left alone. Whoever signs out has the browser forget the rest
    (W3C Clear Site Data).
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        response = answer(request)
        if request.path == SIGN_OUT and request.method == "POST":
            response.headers["Clear-Site-Data"] = '"cache", "storage"'
        if request.user.is_authenticated and "Cache-Control" not in response.headers:
            patch_cache_control(response, private=True, no_store=True)
        return response

    return middleware
