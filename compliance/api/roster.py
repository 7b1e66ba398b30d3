"""The roster: classrooms, and the children in them with what they may not have."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.urls import path
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from compliance.api.page import Page, page
from compliance.api.parts import ClassroomOut, SubstanceOut, strictness_field
from compliance.api.problems import refusals
from compliance.api.query import PageQuery, SiteField
from compliance.api.view import View, one, person
from compliance.checks.texturesaid import texture_says
from roster.access import may, reach, visible_classrooms
from roster.models import Basis, Child, Classroom, Enrolment, Restriction, TextureLevel
from roster.permits import Act, Thing

SHOWN = ("discreet", "expired", "reported", "decides")


class ClassroomsQuery(PageQuery):
    """Which classrooms."""

    site = SiteField(required=False)


class ClassroomPage(Page):
    """Classrooms by site and name."""

    results = ClassroomOut(many=True)


class ChildrenQuery(PageQuery):
    """Which day."""

    day = serializers.DateField(required=False, help_text="Left out: today at the site.")


class RestrictionOut(serializers.Serializer[Restriction]):
    """What one child may not have."""

    substance = SubstanceOut()
    strictness = strictness_field()
    basis = serializers.SerializerMethodField()

    @extend_schema_field(serializers.ChoiceField(Basis.choices, allow_null=True, help_text="Null: not yours to see."))
    def get_basis(self, restriction: Restriction) -> str | None:
        return restriction.basis if self.context["basis"] else None


class RosterChild(serializers.Serializer[Any]):
    """One child of the class. Neither diagnosis nor note is shown."""

    id = serializers.IntegerField(source="pk")
    name = serializers.CharField(source="__str__")
    restrictions = serializers.SerializerMethodField()
    seen_to = serializers.SerializerMethodField()

    @extend_schema_field(RestrictionOut(many=True))
    def get_restrictions(self, child: Any) -> Any:
        return [RestrictionOut(each, context=self.context).data for each in self._held(child) if each.substance]

    @extend_schema_field(
        serializers.ListField(
            child=serializers.CharField(), help_text="What no check looks for and people see to; it names no condition."
        )
    )
    def get_seen_to(self, child: Any) -> list[str]:
        levels = [each for each in child.levels if each.asks]
        return [
            *(each.told for each in self._held(child) if not each.substance),
            *(texture_says(level) for level in levels),
        ]

    def _held(self, child: Any) -> list[Restriction]:
        return [each for each in child.standing if each.holds_on(self.context["day"])]


class ChildrenPage(Page):
    """The children of one class on one day, by name."""

    day = serializers.DateField()
    classroom = ClassroomOut()
    results = RosterChild(many=True)


class Classrooms(View):
    """The classrooms that one may look into."""

    @extend_schema(
        operation_id="classrooms_list",
        parameters=[ClassroomsQuery],
        responses={200: ClassroomPage, **refusals(400)},
    )
    def get(self, request: Request) -> Response:
        """List classrooms."""
        asked = ClassroomsQuery.of(request)
        rows = visible_classrooms(person(request))
        if "site" in asked:
            rows = rows.filter(site=asked["site"])
        return Response(ClassroomPage(page(request, rows, asked, "discreet")).data)


class Children(View):
    """The children of one classroom."""

    @extend_schema(
        operation_id="classrooms_children_list",
        parameters=[ChildrenQuery],
        responses={200: ChildrenPage, **refusals(400, 404)},
    )
    def get(self, request: Request, pk: int) -> Response:
        """List the children enrolled in a classroom on a day, with what each may not have that day."""
        here = reach(person(request))
        classroom = one(here.classrooms, pk)
        asked, now = ChildrenQuery.of(request), timezone.now()
        day = asked.get("day") or now.astimezone(classroom.site.zone).date()
        if not here.opens(classroom, day):
            raise NotFound("Your post in this classroom is not for that day. Ask for a day on which you hold it.")
        rows = page(request, _enrolled(classroom, day, now), asked, *SHOWN)
        # It may tell of a family's faith or a child's illness; who hands out food does not need it.
        basis = may(person(request), Thing.BASIS, Act.READ, site=classroom.site)
        shown = ChildrenPage({**rows, "day": day, "classroom": classroom}, context={"basis": basis, "day": day})
        return Response(shown.data)


def _enrolled(classroom: Classroom, day: date, at: datetime) -> QuerySet[Child]:
    enrolled = Enrolment.objects.on(day).filter(classroom=classroom)
    standing = Prefetch("restrictions", Restriction.objects.standing(day, day, at), to_attr="standing")
    levels = Prefetch("texture_levels", TextureLevel.objects.standing(at), to_attr="levels")
    return Child.objects.filter(pk__in=enrolled.values("child")).prefetch_related(standing).prefetch_related(levels)


urls = [
    path("classrooms/", Classrooms.as_view(), name="api-classrooms"),
    path("classrooms/<int:pk>/children/", Children.as_view(), name="api-children"),
]
