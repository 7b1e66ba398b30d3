"""Servings of one site, each with how many children stand at which outcome."""

from __future__ import annotations

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from compliance.api.page import Page, page
from compliance.api.parts import CoverageOut
from compliance.api.problems import refusals
from compliance.api.query import DaysQuery, SiteField
from compliance.api.view import View, person
from compliance.checks.coverage import coverage
from compliance.checks.cycle import Cell, cycle_grid
from menus.models import Meal

SHOWN = ("none-found", "unknown", "night", "decides")


class ServingsQuery(DaysQuery):
    """Which servings."""

    site = SiteField()


class Counts(serializers.Serializer[Any]):
    """Children at outcomes that stop a food. A child counts once a dish, at its gravest outcome."""

    withhold = serializers.IntegerField()
    refer = serializers.IntegerField()


class ServingOut(serializers.Serializer[Cell]):
    """One dish at one meal on one day, and the children that one may see whom it concerns."""

    id = serializers.IntegerField(source="serving.pk")
    date = serializers.DateField(source="serving.date")
    meal = serializers.ChoiceField(Meal.choices, source="serving.meal")
    dish = serializers.CharField(source="serving.recipe.name")
    choice = serializers.CharField(
        source="serving.choice",
        help_text="What it is one choice of: of the dishes of a meal with the same words a child takes one.",
    )
    checked = serializers.BooleanField(help_text="False: no run has read this serving yet.")
    children = serializers.SerializerMethodField()

    @extend_schema_field(Counts(allow_null=True, help_text="Null while unchecked: then nothing is known."))
    def get_children(self, cell: Cell) -> dict[str, int] | None:
        return {"withhold": len(cell.withhold), "refer": len(cell.refer)} if cell.checked else None


class ServingPage(Page):
    """Servings by day."""

    coverage = CoverageOut()
    results = ServingOut(many=True)


class Servings(View):
    """Servings of one site."""

    @extend_schema(
        operation_id="servings_list",
        parameters=[ServingsQuery],
        responses={200: ServingPage, **refusals(400)},
    )
    def get(self, request: Request) -> Response:
        """List the planned servings of a site between two days."""
        asked = ServingsQuery.of(request)
        site, first, last = asked["site"], asked["first"], asked["last"]
        cells = cycle_grid(person(request), site, first, last).cells
        [covered] = coverage([site], first, last)
        return Response(ServingPage({**page(request, cells, asked, *SHOWN), "coverage": covered}).data)


urls = [path("servings/", Servings.as_view(), name="api-servings")]
