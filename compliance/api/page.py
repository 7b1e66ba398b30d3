"""What answers have in common: the moment they speak of, the cautions, and pages of long lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.utils.urls import replace_query_param

from compliance.web.cautions import CAUTIONS


class Dated(serializers.Serializer[Any]):
    """An answer with its moment and its cautions, to be shown wherever the answer is shown."""

    as_of = serializers.DateTimeField(help_text="What was recorded later is not in this answer.")
    cautions = serializers.ListField(child=serializers.CharField(), help_text="Show them beside the answer.")


class Page(Dated):
    """A part of a list; subclasses add `results`."""

    count = serializers.IntegerField(help_text="Rows in the whole list.")
    next = serializers.URLField(allow_null=True, help_text="The part that follows.")
    previous = serializers.URLField(allow_null=True, help_text="The part before.")


def dated(*cautions: str) -> dict[str, Any]:
    """Return the moment and the named cautions."""
    return {"as_of": timezone.now(), "cautions": [CAUTIONS[name] for name in cautions]}


def page(
    request: Request, rows: Sequence[Any] | QuerySet[Any], asked: dict[str, Any], *cautions: str
) -> dict[str, Any]:
    """Return the part of the rows that is asked for, as `Page` shows it. A QuerySet costs two queries."""
    limit, offset = asked["limit"], asked["offset"]
    count = rows.count() if isinstance(rows, QuerySet) else len(rows)
    return {
        **dated(*cautions),
        "count": count,
        "next": _address(request, limit, offset + limit) if offset + limit < count else None,
        "previous": _address(request, limit, max(0, offset - limit)) if offset > 0 else None,
        "results": list(rows[offset : offset + limit]),
    }


def _address(request: Request, limit: int, offset: int) -> str:
    address = replace_query_param(request.build_absolute_uri(), "limit", limit)
    return replace_query_param(address, "offset", offset)
