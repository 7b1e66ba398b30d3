"""Treat checks: may this food come to my class? Asking, and reading what was answered."""

from __future__ import annotations

from django.db.models import QuerySet
from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import UserRateThrottle

from compliance.api.limits import TreatLimit
from compliance.api.page import Page, page
from compliance.api.problems import refusals
from compliance.api.query import ClassroomField, PageQuery
from compliance.api.treat_answer import SHOWN, TreatOut, TreatWhole
from compliance.api.treat_question import TreatIn
from compliance.api.view import View, one, person
from compliance.checks.treatfood import check_said
from compliance.models import TreatCheck


class TreatQuery(PageQuery):
    """Which treat checks."""

    classroom = ClassroomField(required=False)


class TreatPage(Page):
    """Treat checks, the newest first."""

    results = TreatOut(many=True)


class TreatChecks(View):
    """The treat checks of the classes that one may look into."""

    throttle_classes = (UserRateThrottle, TreatLimit)

    @extend_schema(
        operation_id="treat_checks_list",
        parameters=[TreatQuery],
        responses={200: TreatPage, **refusals(400)},
    )
    def get(self, request: Request) -> Response:
        """List treat checks, the newest first."""
        asked = TreatQuery.of(request)
        rows: QuerySet[TreatCheck] = TreatCheck.objects.visible_to(person(request))
        if "classroom" in asked:
            rows = rows.filter(classroom=asked["classroom"])
        return Response(TreatPage(page(request, rows, asked, *SHOWN)).data)

    @extend_schema(
        operation_id="treat_checks_create",
        request=TreatIn,
        responses={201: TreatWhole, **refusals(400)},
    )
    def post(self, request: Request) -> Response:
        """Check a food for a class and keep the answer. Children at `refer` go onto the list of licensed staff."""
        asked = TreatIn(data=request.data, context={"request": request})
        asked.is_valid(raise_exception=True)
        check = check_said(
            user=person(request),
            classroom=asked.validated_data["classroom"],
            served_at=asked.validated_data["served_at"],
            said=asked.said(),
        )
        address = {"Location": reverse("api-treat-check", args=[check.pk])}
        return Response(TreatWhole(check).data, status=201, headers=address)


class OneTreatCheck(View):
    """One treat check."""

    @extend_schema(operation_id="treat_checks_read", responses={200: TreatWhole, **refusals(404)})
    def get(self, request: Request, pk: int) -> Response:
        """Return one treat check as it was answered."""
        return Response(TreatWhole(one(TreatCheck.objects.visible_to(person(request)), pk)).data)


urls = [
    path("treat-checks/", TreatChecks.as_view(), name="api-treat-checks"),
    path("treat-checks/<int:pk>/", OneTreatCheck.as_view(), name="api-treat-check"),
]
