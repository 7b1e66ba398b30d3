"""The request of somebody who has signed in, which every page but the open ones gets."""

from __future__ import annotations

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from roster.models import Post, User


class SignedInRequest(HttpRequest):
    """For annotations only: LoginRequiredMiddleware lets no stranger through to a view; HtmxMiddleware sets `htmx`.

    `posts` are those held today; the gatekeeper reads them once, when they are first asked for.
    """

    user: User
    posts: list[Post]
    htmx: HtmxDetails
