"""What every view of the API has in common: who may ask."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from django.db.models import Model, QuerySet
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.views import APIView

from compliance.api.permission import HoldsPost
from roster.models import User
from roster.permits import Act, Permit, Thing

Row = TypeVar("Row", bound=Model)


class View(APIView):
    """An address of the API. What is seen there is bounded once more by roster.access, row by row."""

    permission_classes = (HoldsPost,)
    permit: ClassVar[Permit] = Permit(Thing.CLASS_DAY, Act.READ)


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
