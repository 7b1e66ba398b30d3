"""Record label versions."""

from __future__ import annotations

from datetime import date, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from menus.labels.label import LONGEST_LABEL
from menus.models import Label, Product
from menus.signals import facts_changed

FIRST_ZONE = timedelta(hours=14)
"""How far the clock that is first into a new day is ahead of UTC."""

TEXTS = ("ingredients", "contains", "precautionary", "claims")


@transaction.atomic
def record_label(
    *,
    product: Product,
    seen_on: date,
    ingredients: str = "",
    contains: str = "",
    precautionary: str = "",
    claims: str = "",
    seen_by: AbstractBaseUser | None = None,
) -> Label:
    """Keep what the package says as the product's newest label version.

    Raises ValidationError when the text is longer than LONGEST_LABEL in all or holds nothing at all, and for a day to
    come: such a label would be late in growing old.
    """
    texts = {"ingredients": ingredients, "contains": contains, "precautionary": precautionary, "claims": claims}
    texts = {part: text.replace("\x00", "") for part, text in texts.items()}  # no database stores a NUL
    _check_length(texts)
    _check_day(seen_on)
    # The product row is locked so that two readers of one package get two numbers.
    product = Product.objects.select_for_update().get(pk=product.pk)
    newest = product.labels.aggregate(Max("number"))["number__max"] or 0
    reader = seen_by.pk if seen_by else None
    label = Label(product=product, number=newest + 1, seen_on=seen_on, seen_by_id=reader, **texts)
    label.full_clean()
    label.save()
    facts_changed.send(sender=Label, instance=label)
    return label


def same_as_newest(product: Product, **texts: str) -> bool:
    """Tell whether the product's newest label version says word for word the same."""
    newest = product.labels.order_by("-number").first()
    return newest is not None and all(getattr(newest, part) == texts.get(part, "") for part in TEXTS)


def _check_day(seen_on: date) -> None:
    if seen_on > (timezone.now() + FIRST_ZONE).date():
        raise ValidationError(
            "%(day)s lies ahead. Give the day on which somebody read the package.",
            code="seen-ahead",
            params={"day": seen_on.isoformat()},
        )


def _check_length(texts: dict[str, str]) -> None:
    length = sum(len(text) for text in texts.values())
    if length > LONGEST_LABEL:
        raise ValidationError(
            "The label text has %(length)s characters, and a label here may have %(limit)s. "
            "Leave out what is not on the package, or split the product into its parts.",
            code="label-too-long",
            params={"length": f"{length:,}", "limit": f"{LONGEST_LABEL:,}"},
        )
    if not any(text.strip() for text in texts.values()):
        raise ValidationError(
            "The label is empty. Type what the package says, or say that the food has no label.", code="label-empty"
        )
