"""Check a treat by what somebody says of it: a number, a product, the words of its label, or that it has none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from compliance.checks.treat import check_treat
from compliance.models import TreatCheck
from menus.models import Label, PhotoDraft, Product
from menus.services.photos import bind_photos
from menus.services.treats import record_treat
from roster.models import Classroom, User, Verb
from roster.record.together import as_one

Source = TreatCheck.Source


@dataclass(frozen=True, slots=True)
class Said:
    """What was said of a treat. Whatever is filled in says how the food is named; text goes before number."""

    product: Product | None = None
    gtin: str | None = None  # 14 digits
    text: str = ""  # the whole label
    name: str = ""
    no_label: bool = False
    home_made: bool = False


class LabelWanted(ValidationError):
    """The food is named, but no label of it is on record to check against. `product` is None for an unknown GTIN."""

    def __init__(self, product: Product | None, gtin: str | None) -> None:
        named = f"“{product}”" if product else f"the number {gtin}"
        super().__init__(
            "No label is on record for %(named)s. Give the words of its label, or say that it has none.",
            code="label-wanted",
            params={"named": named},
        )
        self.product = product


class FoodWanted(ValidationError):
    """Nothing says what the food is."""

    def __init__(self) -> None:
        super().__init__(
            "Nothing says what the food is. Give the number under its bars, a product seen before, the words of its "
            "label, or say that it has none.",
            code="food-wanted",
        )


@transaction.atomic
def check_said(
    *, user: User, classroom: Classroom, served_at: datetime, said: Said, photos: Sequence[PhotoDraft] = ()
) -> TreatCheck:
    """Check the food that was named for the class. A label given as text is kept with the check, or not at all.

    `photos` show that label; the person has compared its words with them. Raises LabelWanted or FoodWanted when there
    is nothing to check yet, and whatever `record_treat`, `check_treat` and `bind_photos` raise.
    """
    with as_one(Verb.CHECKED, "treat", site=classroom.site, by=user.pk):
        source, food, label = _named(said, classroom, user)
        check = check_treat(
            user=user,
            classroom=classroom,
            served_at=served_at,
            source=source,
            food=food,
            label=label,
            home_made=said.home_made,
        )
    if label and photos and source is Source.PASTED:
        bind_photos(label=label, photos=photos, confirmed_by=user)
    return check


def _named(said: Said, classroom: Classroom, user: User) -> tuple[TreatCheck.Source, str, Label | None]:
    product = said.product or _by_gtin(classroom, said.gtin)
    if said.no_label:
        number = f"Food with the number {said.gtin}" if said.gtin else ""
        return Source.NO_LABEL, said.name or (product.name if product else number or "Food without a label"), None
    if said.text.strip():
        label = _kept(said, product, classroom, user)
        return Source.PASTED, label.product.name, label
    if not (product or said.gtin):
        raise FoodWanted
    current = (
        product and Label.objects.current(timezone.now()).filter(product=product).select_related("product").first()
    )
    if not (product and current):
        raise LabelWanted(product, said.gtin)
    return Source.PRODUCT if said.product else Source.GTIN, product.name, current


def _by_gtin(classroom: Classroom, gtin: str | None) -> Product | None:
    return Product.objects.used_at([classroom.site]).filter(gtin=gtin).first() if gtin else None


def _kept(said: Said, product: Product | None, classroom: Classroom, user: User) -> Label:
    now = timezone.now().astimezone(classroom.site.zone)
    return record_treat(
        name=said.name or (product.name if product else f"Treat of {now:%d %B %Y, %H:%M}"),
        text=said.text,
        gtin=said.gtin or (product.gtin if product else None),
        home_made=said.home_made,
        site=classroom.site,
        seen_on=now.date(),
        seen_by=user,
    )
