"""Nights: how far the checks of one's sites are, how long they will go on, and what became of each site."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.urls import path
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from compliance.api.page import Dated, Page, dated, page
from compliance.api.problems import refusals
from compliance.api.query import PageQuery
from compliance.api.view import View, person
from compliance.models import Night, NightSlice, Run
from compliance.operations.nights import Fate, NightPart, SlicePart, night_parts, nights_within
from compliance.operations.scope import Scope
from roster.permits import Act, Permit, Thing

READ = Permit(Thing.NIGHT, Act.READ)
FATES = [(fate.value, fate.value) for fate in Fate]


class FatesOut(serializers.Serializer[Any]):
    """How many of the sites that one is told of are where."""

    total = serializers.IntegerField()
    checked = serializers.IntegerField()
    busy = serializers.IntegerField(help_text="Checked by somebody else at that moment; tried again later.")
    failed = serializers.IntegerField()
    running = serializers.IntegerField()
    waiting = serializers.IntegerField()


class StatesOut(serializers.Serializer[Any]):
    """How many slices are in which state, of those that hold a site one is told of."""

    waiting = serializers.IntegerField()
    running = serializers.IntegerField()
    done = serializers.IntegerField()
    failed = serializers.IntegerField()


class NightOut(serializers.Serializer[NightPart]):
    """One night, as far as one is told of it."""

    id = serializers.IntegerField(source="night.pk")
    due_at = serializers.DateTimeField(source="night.due_at")
    turn = serializers.IntegerField(source="night.turn", help_text="From 2 on: sites of the same moment, tried again.")
    trigger = serializers.ChoiceField(Run.Trigger.choices, source="night.trigger")
    state = serializers.ChoiceField(Night.State.choices, help_text="For the sites that one is told of.")
    started_at = serializers.DateTimeField(source="night.started_at")
    closed_at = serializers.DateTimeField(source="night.closed_at", allow_null=True)
    seconds_left = serializers.SerializerMethodField()
    sites = serializers.SerializerMethodField()
    slices = serializers.SerializerMethodField()

    @extend_schema_field(
        serializers.FloatField(allow_null=True, help_text="At the pace so far; null: ended, or too early to say.")
    )
    def get_seconds_left(self, part: NightPart) -> float | None:
        return None if part.left is None else round(part.left.total_seconds(), 1)

    @extend_schema_field(FatesOut)
    def get_sites(self, part: NightPart) -> Mapping[str, int]:
        return {"total": part.total, **{fate.value: part.sites[fate] for fate in Fate}}

    @extend_schema_field(StatesOut)
    def get_slices(self, part: NightPart) -> Mapping[str, int]:
        return {state.value: part.states[state] for state in NightSlice.State}


class SiteFateOut(serializers.Serializer[Any]):
    """What became of one site."""

    site = serializers.CharField(help_text="Code of the site.")
    fate = serializers.ChoiceField(FATES)


class SliceOut(serializers.Serializer[SlicePart]):
    """One slice, with those of its sites that one is told of."""

    number = serializers.IntegerField(source="slice.number")
    state = serializers.ChoiceField(NightSlice.State.choices, source="slice.state")
    attempts = serializers.IntegerField(source="slice.attempts")
    started_at = serializers.DateTimeField(source="slice.started_at", allow_null=True)
    finished_at = serializers.DateTimeField(source="slice.finished_at", allow_null=True)
    sites = serializers.SerializerMethodField()

    @extend_schema_field(SiteFateOut(many=True))
    def get_sites(self, part: SlicePart) -> list[dict[str, str]]:
        scope: Scope = self.context["scope"]
        return [{"site": scope.sites[pk].code, "fate": fate.value} for pk, fate in part.fates.items()]


class NightPage(Page):
    """Nights, the newest first."""

    results = NightOut(many=True)


class NightWhole(Dated):
    """One night with its slices."""

    night = NightOut()
    slices = SliceOut(many=True)


class Nights(View):
    """The nights in which one's sites were checked."""

    permit = READ

    @extend_schema(operation_id="nights_list", parameters=[PageQuery], responses={200: NightPage, **refusals(400)})
    def get(self, request: Request) -> Response:
        """List nights, the newest first. Whoever is not told of all sites sees those of the last 30 days."""
        asked, scope, now = PageQuery.of(request), Scope.of(person(request), READ), timezone.now()
        rows = page(request, nights_within(scope, now), asked, "night")
        return Response(NightPage({**rows, "results": night_parts(rows["results"], scope, now)}).data)


class OneNight(View):
    """One night."""

    permit = READ

    @extend_schema(operation_id="nights_read", responses={200: NightWhole, **refusals(404)})
    def get(self, request: Request, pk: int) -> Response:
        """Return one night with its slices, and how long it will go on."""
        scope, now = Scope.of(person(request), READ), timezone.now()
        found = night_parts([pk], scope, now)
        if not found or not (scope.is_all or found[0].slices):
            raise NotFound
        shown = {**dated("night"), "night": found[0], "slices": found[0].slices}
        return Response(NightWhole(shown, context={"scope": scope}).data)


urls = [
    path("nights/", Nights.as_view(), name="api-nights"),
    path("nights/<int:pk>/", OneNight.as_view(), name="api-night"),
]
