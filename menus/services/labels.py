"""Record label versions."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from menus.labels.label import LONGEST_LABEL
from menus.models import Label, Product
from menus.signals import facts_changed

FIRST_ZONE = timedelta(hours=14)
"""How far the clock that is first into a new day is ahead of UTC."""

TEXTS = ("ingredients", "contains", "precautionary", "claims", "supplied")


class StaleLabel(ValidationError):
    """Somebody recorded a newer label version meanwhile."""

    def __init__(self, newer: Label) -> None:
        self.newer = newer
        super().__init__(
            "Nothing was saved: %(who)s recorded label %(number)s meanwhile. Compare the package with both.",
            code="stale",
            params={"who": newer.seen_by or "somebody", "number": newer.number},
        )


@transaction.atomic
def record_label(
    *,
    product: Product,
    seen_on: date,
    ingredients: str = "",
    contains: str = "",
    precautionary: str = "",
    claims: str = "",
    supplied: str | None = None,
    seen_by: AbstractBaseUser | None = None,
    after: int | None = None,
) -> Label:
    """Keep what the package says as the product's newest label version.

    `after` is the number of the label that was on record when the person began, 0 for none: raises StaleLabel when
    there is a newer one by now. None: nobody began from anything, such as an import.

    Without `supplied` the supplier's data on record stay: they are on no package, and a new one takes none of them
    back. Raises ValidationError when the text is longer than LONGEST_LABEL in all or holds nothing at all, and for a
    day to come: such a label would be late in growing old.
    """
    _check_day(seen_on)
    # The product row is locked so that two readers of one package get two numbers.
    product = Product.objects.select_for_update().get(pk=product.pk)
    newest = product.labels.order_by("-number").first()
    if newest and after is not None and newest.number != after:
        raise StaleLabel(newest)
    texts = {"ingredients": ingredients, "contains": contains, "precautionary": precautionary, "claims": claims}
    _check_not_empty([*texts.values(), supplied or ""])
    texts["supplied"] = (newest.supplied if newest else "") if supplied is None else supplied
    label = _kept(Label(product=product, number=newest.number + 1 if newest else 1, seen_on=seen_on), texts, seen_by)
    facts_changed.send(sender=Label, instance=label)
    return label


def first_label(*, product: Product, ingredients: str, seen_on: date, seen_by: AbstractBaseUser | None = None) -> Label:
    """Keep a product that nobody has recorded yet, with all that its package says. The caller holds the transaction.

    Nothing rests on a product before there is one, so nothing is checked again. Raises ValidationError as
    `record_label` does, and for a product that is not whole.
    """
    _check_day(seen_on)
    _check_not_empty([ingredients])
    product.full_clean(exclude={"code", "site"})  # its code was made just now, and its site is at hand
    product.save()
    return _kept(Label(product=product, number=1, seen_on=seen_on), {"ingredients": ingredients}, seen_by)


def _kept(label: Label, texts: dict[str, str], seen_by: AbstractBaseUser | None) -> Label:
    for part, text in texts.items():
        setattr(label, part, text.replace("\x00", ""))  # no database stores a NUL
    _check_length({part: getattr(label, part) for part in texts})
    label.seen_by_id = seen_by.pk if seen_by else None
    label.full_clean(exclude={"product", "seen_by"})  # the product is locked or new, so that its number is its own
    label.save()
    return label


@transaction.atomic
def record_supplied(*, product: Product, supplied: str, seen_by: AbstractBaseUser | None = None) -> Label:
    """Keep a supplier's data beside what the package said last, word for word and of the day on which it was read.

    A product that nobody has read yet gets a label of these data alone, which counts as one without a list.
    """
    newest = Product.objects.select_for_update().get(pk=product.pk).labels.order_by("-number").first()
    if newest is None:
        today = timezone.now().date()
        return record_label(product=product, seen_on=today, seen_by=seen_by, supplied=supplied)
    texts = {part: getattr(newest, part) for part in TEXTS} | {"supplied": supplied}
    return record_label(product=product, seen_on=newest.seen_on, seen_by=newest.seen_by, **texts)


def same_as_newest(product: Product, **texts: str) -> bool:
    """Tell whether the product's newest label version says word for word the same; supplier's data only if given."""
    newest = product.labels.order_by("-number").first()
    return newest is not None and says_the_same(newest, **texts)


def says_the_same(label: Label, **texts: str) -> bool:
    """Tell whether the label says word for word the same; supplier's data only if given. No query."""
    wanted = {"supplied": label.supplied, **texts}
    return all(getattr(label, part) == wanted.get(part, "") for part in TEXTS)


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


def _check_not_empty(given: Iterable[str]) -> None:
    if not any(text.replace("\x00", "").strip() for text in given):
        raise ValidationError(
            "The label is empty. Type what the package says, or say that the food has no label.", code="label-empty"
        )
