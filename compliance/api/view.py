"""What every view of the API has in common: who may ask."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from django.db.models import Model, QuerySet
from rest_framework.exceptions import NotFound
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.views import APIView

from roster.access import has_role
from roster.models import Role, User

Row = TypeVar("Row", bound=Model)


class HoldsPost(IsAuthenticated):
    """Lets in who holds one of the view's roles today. One query."""

    message = "You hold no post today for which this address is meant. Ask an administrator if you should."

    def has_permission(self, request: Request, view: APIView) -> bool:
        roles: tuple[Role, ...] = getattr(view, "roles", tuple(Role))
        return super().has_permission(request, view) and has_role(request.user, *roles)


class View(APIView):
    """An address of the API. What is seen there is bounded once more by roster.access, row by row."""

    permission_classes = (HoldsPost,)
    roles: ClassVar[tuple[Role, ...]] = tuple(Role)


def person(request: Request) -> User:
    """Return who asks; HoldsPost has let no stranger through."""
    assert isinstance(request.user, User)
    return request.user


def one(rows: QuerySet[Row], pk: int) -> Row:
    """Return the row with that id among those that the person may see, else refuse as not found."""
    found = rows.filter(pk=pk).first()
    if found is None:
        raise NotFound
    return found
