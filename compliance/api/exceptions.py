"""Exceptions: verdicts met by a real child at a real serving."""

from __future__ import annotations

from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from compliance.api.page import Page, page
from compliance.api.parts import (
    OUTCOMES,
    STOPS,
    ChildOut,
    ClassroomOut,
    CoverageOut,
    ReasonOut,
    RunStamp,
    SubstanceOut,
    strictness_field,
)
from compliance.api.problems import refusals
from compliance.api.query import ClassroomField, DaysQuery, SiteField
from compliance.api.view import View, person
from compliance.checks.coverage import coverage
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, Look
from compliance.checks.reasons import OUTCOME_OF_CODE
from compliance.checks.seen_to import with_seen_to
from compliance.rules.register import RULES
from compliance.rules.values import Outcome
from menus.models import Meal
from menus.models.substance import validate_substance
from roster.access import visible_sites

SHOWN = ("none-found", "unknown", "night", "discreet", "decides")


class ExceptionQuery(DaysQuery):
    """Which exceptions. What is left out means any."""

    site = SiteField(required=False)
    classroom = ClassroomField(required=False)
    outcome = serializers.ChoiceField(STOPS, required=False)
    substance = serializers.CharField(required=False, validators=[validate_substance], help_text="Code of a substance.")
    rule = serializers.ChoiceField([(rule.id, rule.title) for rule in RULES], required=False, help_text="Id of a rule.")


class ExceptionOut(serializers.Serializer[ExceptionRow]):
    """One child, one serving, one restriction, and why they do not go together."""

    date = serializers.DateField()
    site = serializers.SlugField(source="site.code")
    meal = serializers.ChoiceField(Meal.choices, source="serving.meal")
    serving = serializers.IntegerField(source="serving.pk")
    dish = serializers.CharField()
    classroom = ClassroomOut()
    child = ChildOut()
    substance = SubstanceOut(source="restriction.substance")
    strictness = strictness_field(source="restriction.strictness")
    outcome = serializers.ChoiceField(STOPS, source="outcome.code")
    reasons = ReasonOut(many=True)
    allowance_applied = serializers.SerializerMethodField()
    waits_for = serializers.ListField(
        child=serializers.CharField(),
        help_text="What licensed staff have to settle first; a child's exceptions with the same wait for one answer.",
    )
    seen_to = serializers.ListField(
        child=serializers.CharField(), help_text="What no check looks for and people see to; it names no condition."
    )
    run = RunStamp(help_text="The run whose verdict this is.")

    @extend_schema_field(serializers.BooleanField(help_text="An allowance makes the outcome milder; see `reasons`."))
    def get_allowance_applied(self, row: ExceptionRow) -> bool:
        return bool(row.lifted)


class LiftedOut(ExceptionOut):
    """Where an allowance is all that stands between child and dish: nothing else was found."""

    outcome = serializers.ChoiceField(OUTCOMES, source="outcome.code")


class ExceptionPage(Page):
    """Exceptions by day, site, meal, dish, classroom and child."""

    coverage = CoverageOut(many=True)
    results = ExceptionOut(many=True)
    lifted = LiftedOut(
        many=True, help_text="No exceptions, since a signed allowance applies. Not counted, all at once."
    )


class Exceptions(View):
    """Exceptions of the children that one may see."""

    @extend_schema(
        operation_id="exceptions_list",
        parameters=[ExceptionQuery],
        responses={200: ExceptionPage, **refusals(400)},
    )
    def get(self, request: Request) -> Response:
        """List the exceptions between two days."""
        asked = ExceptionQuery.of(request)
        first, last, site = asked["first"], asked["last"], asked.get("site")
        wanted = ExceptionFilter(
            first,
            last,
            site=site,
            classroom=asked.get("classroom"),
            outcome=OUTCOME_OF_CODE.get(asked.get("outcome", "")),
            substance=asked.get("substance", ""),
            rule=asked.get("rule", ""),
        )
        look = Look(person(request), wanted)
        rows = with_seen_to(look.exceptions())
        covered = coverage([site] if site else visible_sites(person(request)), first, last)
        lifted = [row for row in look.lifted() if row.outcome is Outcome.NONE_FOUND]
        answer = {**page(request, rows, asked, *SHOWN), "coverage": covered, "lifted": with_seen_to(lifted)}
        return Response(ExceptionPage(answer).data)


urls = [path("exceptions/", Exceptions.as_view(), name="api-exceptions")]
