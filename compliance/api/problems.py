"""Errors as problem details (RFC 9457): what is wrong, why and how to mend it, with a code for programs."""

from __future__ import annotations

from collections.abc import Iterator
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from rest_framework import exceptions, serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.response import Response
from rest_framework.views import exception_handler

MEDIA_TYPE = "application/problem+json"

MEND = {
    "not_authenticated": "Sign in first and send the session cookie with the request.",
    "not_found": "Check the address; a site, class or record that your posts do not reach is not found either.",
    "parse_error": "Send one JSON object in UTF-8.",
    "unsupported_media_type": "Send application/json.",
    "method_not_allowed": "The schema lists what this address takes.",
    "required": "Add it; the schema says what it may hold.",
    "null": "Leave it out, or give it a value.",
    "blank": "Leave it out, or give it a value.",
    "throttled": "Nothing was checked or saved: do not serve meanwhile what was asked about.",
    "does_not_exist": "Name one that your posts reach.",
}
"""How to mend what the framework refuses, by its own code; errors of ours say it themselves."""

CSRF = f"Send the value of the cookie {settings.CSRF_COOKIE_NAME} in the header X-CSRFToken."


class ProblemItem(serializers.Serializer[Any]):
    """One thing that is wrong."""

    field = serializers.CharField(help_text="Where in the request, with dots between levels. Empty: the whole of it.")
    code = serializers.CharField(help_text="Stays the same when the words change.")
    detail = serializers.CharField(help_text="What is wrong, why, and how to mend it.")


class Problem(serializers.Serializer[Any]):
    """Why a request was refused. Nothing of it was saved."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    errors = ProblemItem(many=True)  # type: ignore[assignment]  # the metaclass takes declared fields out


def refusals(*codes: int) -> dict[tuple[int, str], type[Problem]]:
    """Return what the schema says of refusals with these status codes, and of strangers and of too many requests."""
    return {(code, MEDIA_TYPE): Problem for code in (*codes, 403, 429)}


def handle(exc: Exception, context: dict[str, Any]) -> Response | None:
    """Answer with a problem; what is no refusal (a fault of ours) is left to Django."""
    if isinstance(exc, ValidationError):
        exc = exceptions.ValidationError(_translated(exc))
    response = exception_handler(exc, context)
    if response is None:
        return None
    errors = list(_items(response.data))
    response.data = {
        "type": "about:blank",
        "title": HTTPStatus(response.status_code).phrase,
        "status": response.status_code,
        "detail": errors[0]["detail"] if len(errors) == 1 else f"{len(errors)} things are wrong; errors lists them.",
        "errors": errors,
    }
    response.content_type = MEDIA_TYPE
    return response


def _translated(error: ValidationError) -> dict[str, list[ErrorDetail]]:
    """Return Django's errors as the framework's, keeping codes."""
    by_field = error.error_dict if hasattr(error, "error_dict") else {"": error.error_list}
    return {
        "" if field == "__all__" else field: [
            ErrorDetail(message, each.code or "invalid") for each in found for message in each.messages
        ]
        for field, found in by_field.items()
    }


def _items(data: Any, field: str = "") -> Iterator[dict[str, str]]:
    if isinstance(data, dict):
        for key, value in data.items():
            inner = "" if key in ("detail", "non_field_errors", "") else str(key)
            yield from _items(value, ".".join(filter(None, (field, inner))))
    elif isinstance(data, list):
        for value in data:
            yield from _items(value, field)
    else:
        code = getattr(data, "code", "invalid")
        mend = CSRF if str(data).startswith("CSRF Failed") else MEND.get(code, "")
        yield {"field": _sayable(field), "code": code, "detail": _sayable(f"{data} {mend}".strip())}


def _sayable(text: str) -> str:
    """Errors repeat what was sent, which may hold half a character that no answer could be written with."""
    return text.encode(errors="replace").decode()
