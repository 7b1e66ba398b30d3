"""Keeps the gates: before a view runs, whoever holds no post for the page is turned away."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.core.checks import CheckMessage, Error, register
from django.core.exceptions import ImproperlyConfigured
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils.functional import SimpleLazyObject

from compliance.web.gates import GATES
from compliance.web.signed_in import SignedInRequest
from roster.access import posts
from roster.permits import holds


class Gatekeeper:
    """Turns away, before the view runs, whoever holds no post for the page. It stands after the sign-in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.posts = SimpleLazyObject(lambda: posts(request.user))  # type: ignore[attr-defined]
        return self.get_response(request)

    def process_view(self, request: SignedInRequest, view: Callable[..., HttpResponse], *_: object) -> None:
        """Raise Http404 for who may not come in, ImproperlyConfigured for a page without a line. At most one query."""
        assert request.resolver_match is not None  # a view was found
        name = request.resolver_match.view_name
        if is_open(view) or answers_elsewhere(name, view):
            return
        if name not in GATES:
            raise ImproperlyConfigured(f"The page {name!r} has no line in compliance/web/gates.py.")
        permit = GATES[name]
        if permit and not any(holds(post, permit) for post in request.posts):
            raise Http404("You hold no post for which this page is meant.")


def is_open(view: Callable[..., object]) -> bool:
    """Tell whether strangers may see the page."""
    return not getattr(view, "login_required", True)


def answers_elsewhere(name: str, view: Callable[..., object]) -> bool:
    """Tell whether something else guards the view: the API's permission class, or the repair site's own door."""
    return hasattr(view, "cls") or name.startswith("admin:")


def addresses(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every address by name, with the space that it stands in."""
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from addresses(each.url_patterns, space or each.namespace or "")
        else:
            yield f"{space}:{each.name}" if space else str(each.name), each


@register
def every_page_has_a_gate(**_: object) -> list[CheckMessage]:
    """Find pages without a line in the table, and lines without a page."""
    pages = {
        name
        for name, pattern in addresses(get_resolver().url_patterns)
        if not is_open(pattern.callback) and not answers_elsewhere(name, pattern.callback)
    }
    return [
        *(Error(f"The page {name!r} has no line in GATES.", id="compliance.E010") for name in pages - GATES.keys()),
        *(Error(f"The line {name!r} of GATES has no page.", id="compliance.E011") for name in GATES.keys() - pages),
    ]
