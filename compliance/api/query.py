"""What requests may say: strict, so that a misspelt name is refused instead of widening the answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request

from menus.models import Site
from roster.access import visible_classrooms, visible_sites
from roster.models import Classroom

MAX_DAYS = 62
"""Two months: more than anybody plans ahead, and little enough to answer at once."""

MAX_LIMIT = 500


def wrong(field: str, code: str, detail: str) -> ValidationError:
    """Return the refusal of one field."""
    return ValidationError({field: [ErrorDetail(detail, code)]})


class Strict(serializers.Serializer[Any]):
    """Refuses names that it does not know."""

    def to_internal_value(self, data: Any) -> Any:
        unknown = sorted(data.keys() - self.fields.keys()) if isinstance(data, Mapping) else []
        if unknown:
            known = ", ".join(self.fields)
            raise ValidationError(
                {name: [ErrorDetail(f"Nothing here is called so. Known are: {known}.", "unknown")] for name in unknown}
            )
        return super().to_internal_value(data)


class Query(Strict):
    """The part of an address after the question mark."""

    @classmethod
    def of(cls, request: Request) -> dict[str, Any]:
        """Return what the request asks, checked."""
        twice = [name for name, values in request.query_params.lists() if len(values) > 1]
        if twice:
            raise ValidationError(
                {name: [ErrorDetail("This is given twice. Give it once.", "twice")] for name in twice}
            )
        query = cls(data=request.query_params.dict(), context={"request": request})
        query.is_valid(raise_exception=True)
        asked: dict[str, Any] = query.validated_data
        return asked


class PageQuery(Query):
    """Which part of a long list."""

    limit = serializers.IntegerField(default=100, min_value=1, max_value=MAX_LIMIT, help_text="How many rows at most.")
    offset = serializers.IntegerField(default=0, min_value=0, help_text="How many rows to pass over.")


class DaysQuery(PageQuery):
    """Which days."""

    first = serializers.DateField(help_text="First day, included.")
    last = serializers.DateField(help_text=f"Last day, included; at most {MAX_DAYS} days in all.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        first: date = attrs["first"]
        last: date = attrs["last"]
        if last < first:
            raise wrong("last", "order", f"{last} is before {first}. Give a last day on or after the first.")
        if (last - first).days >= MAX_DAYS:
            raise wrong("last", "too-many-days", f"This is more than {MAX_DAYS} days. Ask for less at a time.")
        return attrs


@extend_schema_field(OpenApiTypes.STR)
class SiteField(serializers.SlugRelatedField[Site]):
    """A site by its code, among those that the person may see."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(slug_field="code", help_text="Code of the site.", **kwargs)

    def get_queryset(self) -> Any:
        return visible_sites(self.context["request"].user)


@extend_schema_field(OpenApiTypes.INT)
class ClassroomField(serializers.PrimaryKeyRelatedField[Classroom]):
    """A classroom by its id, among those that the person may look into."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(help_text="Id of the classroom.", **kwargs)

    def get_queryset(self) -> Any:
        return visible_classrooms(self.context["request"].user)


class MomentField(serializers.DateTimeField):
    """A moment with its offset from UTC: without one, the hour could be any."""

    default_error_messages = {"no-offset": "This time has no offset from UTC. Write it as 2027-03-09T14:30:00-06:00."}

    def enforce_timezone(self, value: datetime) -> datetime:
        if value.tzinfo is None:
            self.fail("no-offset")
        return super().enforce_timezone(value)
