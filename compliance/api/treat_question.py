"""What is asked in a treat check: the class, the time, and what the food is."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError as Refused
from django.utils import timezone
from rest_framework import serializers

from compliance.api.query import ClassroomField, MomentField, Strict, wrong
from compliance.checks.treatfood import Said
from compliance.checks.treattime import require_near
from menus.gtin import parse_gtin
from menus.labels.label import LONGEST_LABEL
from menus.models import Product
from roster.models import Classroom


class LabelField(serializers.CharField):
    """The words of a label, of which none is refused. No database stores a NUL, so that one is dropped."""

    def to_internal_value(self, data: Any) -> str:
        return super().to_internal_value(data).replace("\x00", "")


class TreatIn(Strict):
    """What is asked. One of gtin, product, text and no_label says what the food is; text may come with a gtin."""

    classroom = ClassroomField()
    served_at = MomentField(required=False, help_text="When it is handed out, with offset from UTC. Left out: now.")
    gtin = serializers.CharField(required=False, max_length=40, help_text="The number under the bars.")
    product = serializers.IntegerField(required=False, help_text="Id of a product on record.")
    text = LabelField(
        required=False,
        allow_blank=True,
        trim_whitespace=False,
        max_length=LONGEST_LABEL,
        help_text="The whole label, as printed. It is kept, under the gtin when there is one.",
    )
    no_label = serializers.BooleanField(default=False, help_text="The food has none: nothing is known of it.")
    home_made = serializers.BooleanField(default=False)
    name = serializers.CharField(required=False, max_length=160, help_text="What the food is called.")

    def validate_gtin(self, typed: str) -> str:
        return parse_gtin(typed)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs.setdefault("served_at", timezone.now())
        _require_near(attrs["served_at"], attrs["classroom"])
        _refuse_contradiction(attrs)
        if "product" in attrs:
            attrs["product"] = _product(attrs)
        return attrs

    def said(self) -> Said:
        """Return what was said of the food."""
        named = ("product", "gtin", "text", "name", "no_label", "home_made")
        return Said(**{name: self.validated_data[name] for name in named if name in self.validated_data})


def _require_near(moment: datetime, classroom: Classroom) -> None:
    try:
        require_near(moment.astimezone(classroom.site.zone), timezone.now())
    except Refused as error:
        raise Refused({"served_at": error}) from error


def _refuse_contradiction(attrs: dict[str, Any]) -> None:
    given = [name for name in ("text", "gtin", "product") if attrs.get(name)]
    if attrs["no_label"] and "text" in given:
        raise wrong("no_label", "contradiction", "The words of a label came with no_label. Leave one of them out.")
    if "gtin" in given and "product" in given:
        raise wrong("product", "contradiction", "A gtin and a product came together. Give one of them.")


def _product(attrs: dict[str, Any]) -> Product:
    found = Product.objects.used_at([attrs["classroom"].site]).filter(pk=attrs["product"]).first()
    if found is None:
        raise wrong("product", "does_not_exist", "No product of this site has that id.")
    return found
