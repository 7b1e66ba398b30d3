"""What is answered in a treat check: children by outcome, with the words that say so."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from compliance.api.parts import OUTCOMES, ChildOut, ClassroomOut, ReasonOut, SubstanceOut, strictness_field
from compliance.checks.reasons import OUTCOME_OF_CODE, Reason, stored_reasons
from compliance.checks.seen_to import seen_to_at
from compliance.models import TreatCheck
from compliance.web.cautions import CAUTIONS
from menus.models import Label

SHOWN = ("none-found", "package", "precautionary", "choking", "reaction", "decides")
"""The cautions beside every treat check."""


class TreatChild(serializers.Serializer[Any]):
    """One child by name, as it was at the time."""

    id = serializers.IntegerField(source="child_id")
    name = serializers.CharField(source="child")


class TreatFinding(serializers.Serializer[Any]):
    """One restriction of one child that the food meets. A child with two restrictions may stand here twice."""

    child = TreatChild(source="*")
    substance = SubstanceOut()
    strictness = strictness_field()
    outcome = serializers.ChoiceField(OUTCOMES)
    reasons = serializers.SerializerMethodField()
    allowance_applied = serializers.SerializerMethodField()

    @extend_schema_field(ReasonOut(many=True))
    def get_reasons(self, row: dict[str, Any]) -> Any:
        found: list[Reason] = stored_reasons(row["findings"])
        return ReasonOut(found, many=True).data

    @extend_schema_field(serializers.BooleanField(help_text="An allowance makes the outcome milder; see `reasons`."))
    def get_allowance_applied(self, row: dict[str, Any]) -> bool:
        outcome = OUTCOME_OF_CODE[row["outcome"]]
        return any(each.allowed and each.outcome > outcome for each in stored_reasons(row["findings"]))


class TreatTexture(serializers.Serializer[Any]):
    """A child for whom a level of texture is set: of a treat nobody stated one, so licensed staff are asked first."""

    child = TreatChild(source="*")
    food_level = serializers.IntegerField(allow_null=True, help_text="3 to 7; null: none set.")
    drink_level = serializers.IntegerField(allow_null=True, help_text="0 to 4; null: none set.")


class Offer(serializers.Serializer[Any]):
    """A product for which no conflict was found for anybody in the class. It states no level of texture either."""

    product = serializers.IntegerField(source="product_id")
    name = serializers.CharField()


class ByAge(serializers.Serializer[Any]):
    """One thing in the food that young children choke on: a notice beside the answer, not an outcome."""

    words = serializers.CharField(help_text="As the label, the recipe or the teacher says it.")
    advice = serializers.ChoiceField(["ask", "change", "leave-out"])
    ages = serializers.CharField()
    children = serializers.IntegerField(help_text="Present and under that age, or of unknown age.")
    what = serializers.CharField(help_text="What to do.")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes declared fields out
    verified = serializers.CharField(help_text="read, memory (not seen), or local: accepted here by licensed staff.")


class TreatLabel(serializers.ModelSerializer[Label]):
    """The label version that was checked; spans count in its parts."""

    product = serializers.CharField(source="product.name")

    class Meta:
        model = Label
        fields = (
            "id",
            "product",
            "number",
            "ingredients",
            "contains",
            "precautionary",
            "claims",
            "supplied",
            "seen_on",
        )


class TreatOut(serializers.ModelSerializer[TreatCheck]):
    """One treat check in short."""

    address = serializers.SerializerMethodField()
    as_of = serializers.DateTimeField(source="result.as_of", help_text="When it was checked.")
    classroom = ClassroomOut()
    checked_by = serializers.CharField(source="checked_by.__str__")
    children = serializers.IntegerField(source="result.children", help_text="Children in the class that day.")
    stopped = serializers.SerializerMethodField(help_text="Children to whom it is not to be given.")

    class Meta:
        model = TreatCheck
        fields: tuple[str, ...] = (
            "id",
            "address",
            "as_of",
            "classroom",
            "served_at",
            "source",
            "food",
            "home_made",
            "checked_by",
            "children",
            "stopped",
        )

    def get_address(self, check: TreatCheck) -> str:
        return reverse("api-treat-check", args=[check.pk])

    def get_stopped(self, check: TreatCheck) -> int:
        stopping = ("withhold", "refer", "texture")
        return len({row["child_id"] for name in stopping for row in check.result.get(name, [])})


class SeenToOut(serializers.Serializer[Any]):
    """What no check looks for: “none found” does not cover it, and people see to it."""

    child = ChildOut()
    told = serializers.CharField(help_text="It names no condition.")


class TreatWhole(TreatOut):
    """One treat check with every finding, as it was given at the time."""

    label = TreatLabel(allow_null=True)  # type: ignore[assignment]  # the metaclass takes declared fields out
    withhold = TreatFinding(many=True, source="result.withhold")
    refer = TreatFinding(many=True, source="result.refer")
    notes = TreatFinding(many=True, source="result.notes", help_text="Worth knowing, but no reason to withhold.")
    texture = serializers.SerializerMethodField(help_text="Not to be given to them before licensed staff answer.")
    none_found = serializers.IntegerField(
        source="result.none_found", help_text="Children for whom no conflict was found in the records checked."
    )
    by_age = ByAge(many=True, source="result.by_age")
    offers = Offer(many=True, source="result.offers")
    seen_to = serializers.SerializerMethodField()
    cautions = serializers.SerializerMethodField()

    class Meta(TreatOut.Meta):
        fields = (
            *TreatOut.Meta.fields,
            "label",
            "withhold",
            "refer",
            "notes",
            "texture",
            "none_found",
            "by_age",
            "offers",
            "seen_to",
            "cautions",
        )

    @extend_schema_field(TreatTexture(many=True))
    def get_texture(self, check: TreatCheck) -> Any:
        return TreatTexture(check.result.get("texture", []), many=True).data  # answers of earlier times have none

    @extend_schema_field(SeenToOut(many=True))
    def get_seen_to(self, check: TreatCheck) -> Any:
        return SeenToOut(seen_to_at(check), many=True).data

    def get_cautions(self, check: TreatCheck) -> list[str]:
        return [CAUTIONS[name] for name in SHOWN]
