"""What several answers show in the same way: children, classrooms, substances, reasons, runs."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from compliance.rules.values import Outcome
from menus.substances.catalogue import Catalogue
from roster.models import Classroom, Strictness

OUTCOMES = [(outcome.code, outcome.words) for outcome in reversed(Outcome)]
STOPS = [(outcome.code, outcome.words) for outcome in (Outcome.WITHHOLD, Outcome.REFER)]
"""The outcomes at which a food is not served."""


class ClassroomOut(serializers.ModelSerializer[Classroom]):
    """One classroom."""

    site = serializers.SlugField(source="site.code", help_text="Code of its site.")

    class Meta:
        model = Classroom
        fields = ("id", "name", "grade", "site")


class ChildOut(serializers.Serializer[Any]):
    """One child by name."""

    id = serializers.IntegerField(source="pk")
    name = serializers.CharField(source="__str__")


class SubstanceOut(serializers.Serializer[str]):
    """One substance: its stable code and its name."""

    code = serializers.CharField()
    name = serializers.CharField()

    def to_representation(self, instance: str) -> dict[str, str]:
        return {"code": instance, "name": Catalogue.load().get(instance).name}


class SpanOut(serializers.Serializer[Any]):
    """Where on the label the words stand."""

    part = serializers.CharField(help_text="ingredients, contains, precautionary, claims or supplied.")
    start = serializers.IntegerField(help_text="First character, counted from 0.")
    end = serializers.IntegerField(help_text="The character after the last.")


class LinkOut(serializers.Serializer[Any]):
    """One link of the chain from the dish to the words."""

    kind = serializers.CharField()
    ref = serializers.CharField(help_text="Id of what is linked, where it has one.")
    name = serializers.CharField()


class ReasonOut(serializers.Serializer[Any]):
    """One reason for an outcome, down to the words on the label and the published source of the rule."""

    rule = serializers.CharField(help_text="Id of the rule; it never changes.")
    title = serializers.CharField()
    outcome = serializers.ChoiceField(OUTCOMES, source="outcome.code")
    sentence = serializers.CharField()
    words = serializers.CharField(help_text="The words on the label.")
    term = serializers.CharField(help_text="The phrase of the lexicon that they were read as; empty: none.")
    span = SpanOut(allow_null=True)
    label = serializers.CharField(  # type: ignore[assignment]  # the metaclass takes declared fields out
        source="label_id", help_text="Id of the label version; empty: none."
    )
    chain = LinkOut(many=True)
    source = serializers.CharField(  # type: ignore[assignment]
        help_text="What the reading of these words rests on."
    )
    verified = serializers.CharField(help_text="read, memory (not seen), or local: accepted here by licensed staff.")
    allowed = serializers.BooleanField(help_text="Covered by an allowance: shown, but it no longer counts.")


class RunStamp(serializers.Serializer[Any]):
    """Which run a statement comes from."""

    id = serializers.IntegerField(source="pk")
    as_of = serializers.DateTimeField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class CoverageOut(serializers.Serializer[Any]):
    """How far a site has been checked: where no run has looked, an empty list says nothing."""

    site = serializers.SlugField(source="site.code")
    run = RunStamp(allow_null=True, help_text="The newest complete run; null: none yet.")
    unchecked = serializers.IntegerField(help_text="Servings between the days asked for that no run has read.")


def strictness_field(**kwargs: Any) -> serializers.ChoiceField:
    """Return the field that says how far a restriction reaches."""
    return serializers.ChoiceField(Strictness.choices, **kwargs)
