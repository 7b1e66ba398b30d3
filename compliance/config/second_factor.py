"""Lead whoever must have a second factor to set one up, before any other page."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect

from compliance.web.signed_in import SignedInRequest
from roster.accounts.factors import has_factor, must_have_factor

SETTING_UP = frozenset(
    {"second-factor", "codes-set-up", "passkey-add", "recovery-codes", "sign-in-again", "sign-out", "account"}
)
"""What one may see without it. Pages for strangers are open too: the steps in an emergency above all."""
HAS = "second factor"


class SecondFactor:
    """Stands after the sign-in and before the pages. SECOND_FACTOR_ROLES says of whom it is asked."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: SignedInRequest, view: Callable[..., HttpResponse], *_: object
    ) -> HttpResponse | None:
        """Return the way to the set-up, or None to go on. One query more until somebody's second factor was seen.

        Once seen, a second factor is remembered in the session: whoever takes it away ends the session too.
        """
        if not settings.SECOND_FACTOR_ROLES or not request.user.is_authenticated or request.session.get(HAS):
            return None
        name = request.resolver_match.view_name if request.resolver_match else ""
        if name in SETTING_UP or (not getattr(view, "login_required", True) and not name.startswith("api-")):
            return None
        if not must_have_factor(request.user, request.posts):
            return None
        if has_factor(request.user):
            request.session[HAS] = True
            return None
        if name.startswith("api-"):
            problem = {"title": "A second factor is wanting.", "detail": "Sign in on the pages and set one up first."}
            return JsonResponse(problem, status=403, content_type="application/problem+json")
        return redirect("second-factor")
