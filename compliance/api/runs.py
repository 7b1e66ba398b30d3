"""Runs: which checks of a site were made, and what each read."""

from __future__ import annotations

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from compliance.api.page import Page, page
from compliance.api.problems import refusals
from compliance.api.query import PageQuery, SiteField
from compliance.api.view import View, one, person
from compliance.checks.readby import read_by
from compliance.models import Run
from roster.access import visible_sites
from roster.permits import Act, Permit, Thing

READ = Permit(Thing.RUN, Act.READ)


class RunsQuery(PageQuery):
    """Which runs."""

    site = SiteField(required=False)


class RunOut(serializers.ModelSerializer[Run]):
    """One run in short."""

    site = serializers.SlugField(source="site.code")
    same_as = serializers.PrimaryKeyRelatedField[Run](
        read_only=True, allow_null=True, help_text="The earlier run that read and found the same; its verdicts stand."
    )

    class Meta:
        model = Run
        fields: tuple[str, ...] = (
            "id",
            "site",
            "trigger",
            "state",
            "as_of",
            "first_day",
            "last_day",
            "started_at",
            "finished_at",
            "counts",
            "same_as",
            "error",
        )


class RunWhole(RunOut):
    """One run with the versions of the facts that it read, and the fingerprint of what it found."""

    inputs = serializers.SerializerMethodField()

    class Meta(RunOut.Meta):
        fields = (*RunOut.Meta.fields, "result_hash", "inputs")

    @extend_schema_field(
        serializers.DictField(
            help_text="Ids by kind: versions of recipes and labels behind its dishes, words, records."
        )
    )
    def get_inputs(self, run: Run) -> dict[str, Any]:
        return run.inputs | read_by(run)


class RunPage(Page):
    """Runs, the newest first."""

    results = RunOut(many=True)


class Runs(View):
    """Runs of the sites for which one answers."""

    permit = READ

    @extend_schema(operation_id="runs_list", parameters=[RunsQuery], responses={200: RunPage, **refusals(400)})
    def get(self, request: Request) -> Response:
        """List runs, the newest first."""
        asked = RunsQuery.of(request)
        rows = Run.objects.filter(site__in=visible_sites(person(request), READ)).select_related("site")
        if "site" in asked:
            rows = rows.filter(site=asked["site"])
        return Response(RunPage(page(request, rows, asked, "night")).data)


class OneRun(View):
    """One run."""

    permit = READ

    @extend_schema(operation_id="runs_read", responses={200: RunWhole, **refusals(404)})
    def get(self, request: Request, pk: int) -> Response:
        """Return one run with what it read."""
        runs = Run.objects.filter(site__in=visible_sites(person(request), READ)).select_related("site", "food")
        return Response(RunWhole(one(runs, pk)).data)


urls = [
    path("runs/", Runs.as_view(), name="api-runs"),
    path("runs/<int:pk>/", OneRun.as_view(), name="api-run"),
]
