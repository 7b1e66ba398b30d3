"""End sessions that nobody touched for long, that lasted long, or that their owner ended from elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from compliance.web.signed_in import SignedInRequest
from roster.access import posts
from roster.accounts.sessions import Ends, ends_of
from roster.models import Post

BEGAN, SEEN, IDLE, AT = "began", "seen", "idle", "ends at"
"""What a session keeps of itself: three moments and a span, each in seconds (the moments since 1970)."""
NOTED_EVERY = 60.0
"""Seconds. A touch is written down so often at most: a page that is read writes nothing."""


def begin_session(request: SignedInRequest, user: Any, **_: Any) -> None:
    """Note when the session began and when it ends. Called when somebody has signed in. One query."""
    request.session[BEGAN] = timezone.now().timestamp()
    _note(request, posts(user))


def session_end(get_response: Callable[[SignedInRequest], HttpResponse]) -> Callable[[SignedInRequest], HttpResponse]:
    """Return the middleware; it stands after those of sign-in and messages, before the views."""

    def answer(request: SignedInRequest) -> HttpResponse:
        if request.user.is_authenticated and (why := _over(request)):
            logout(request)
            messages.info(request, why)
            if request.htmx:  # else the sign-in page would land inside the page
                back = urlencode({"next": request.htmx.current_url_abs_path or ""})
                return HttpResponse(headers={"HX-Redirect": f"{reverse('sign-in')}?{back}"})
        elif request.user.is_authenticated and _is_touched(request):
            _note(request, request.posts)
        return get_response(request)

    return answer


def _over(request: SignedInRequest) -> str:
    """Say why the session has ended, or nothing while it goes on."""
    session, now = request.session, timezone.now().timestamp()
    since = request.user.sessions_since
    if BEGAN not in session or (since and session[BEGAN] < since.timestamp()):
        return "You were signed out on every device. Sign in again."
    if now > session[AT]:
        return "Your session has come to its end. Sign in again."
    if now > session[SEEN] + session[IDLE]:
        minutes = round(session[IDLE] / 60)
        return f"You were signed out: nothing was touched for {minutes} minutes. Sign in again."
    return ""


def _is_touched(request: SignedInRequest) -> bool:
    """Whether somebody is there: a part of a page that is fetched again may have been fetched by the page itself."""
    by_itself = request.method == "GET" and bool(request.htmx)
    return not by_itself and timezone.now().timestamp() > request.session[SEEN] + NOTED_EVERY


def _note(request: SignedInRequest, held: Iterable[Post]) -> None:
    began = datetime.fromtimestamp(request.session[BEGAN], UTC)
    ends: Ends = ends_of(held, began)
    request.session[SEEN] = timezone.now().timestamp()
    request.session[IDLE] = ends.idle / timedelta(seconds=1)
    request.session[AT] = ends.at.timestamp()
