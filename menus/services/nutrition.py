"""Record what a product holds: from its label's panel, or from the table of foods by the number of a food in it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction

from menus.mealpattern.nutrients.foods import HUNDRED, table
from menus.models import Product, ProductNutrition
from menus.models.nutrition import NUTRIENTS

MEASURES = ("piece_g", "cup_g", "edible")


@transaction.atomic
def record_panel(
    *,
    product: Product,
    basis_g: Decimal,
    stated: Mapping[str, Decimal | None],
    measures: Mapping[str, Decimal | None] | None = None,
    recorded_by: AbstractBaseUser | None = None,
) -> ProductNutrition:
    """Keep what the label says that `basis_g` grams hold. A nutrient left out, or None, is not stated.

    `measures` are `piece_g`, `cup_g` and `edible`, as the model tells them. Raises ValidationError for a name that is
    no nutrient, for a panel that states nothing, and for figures that cannot be.
    """
    _check_names(stated, NUTRIENTS)
    if all(value is None for value in stated.values()):
        raise ValidationError("The panel states nothing. Copy at least one figure of it.", code="panel-empty")
    return _kept(product, ProductNutrition.Source.LABEL, "", basis_g, stated, measures, recorded_by)


@transaction.atomic
def record_table_food(
    *,
    product: Product,
    ndb_no: str,
    stated: Mapping[str, Decimal | None] | None = None,
    measures: Mapping[str, Decimal | None] | None = None,
    recorded_by: AbstractBaseUser | None = None,
) -> ProductNutrition:
    """Keep what the table says of a food that the product is like, in 100 g. Who records it answers for the likeness.

    `stated` adds, in 100 g, what the table does not report, such as added sugars. Raises ValidationError for a number
    that the table here does not hold.
    """
    food = table().get(ndb_no)
    if food is None:
        raise ValidationError(
            "NDB number “%(number)s” is not in the table here. Copy the label's panel instead.",
            code="ndb-unknown",
            params={"number": ndb_no},
        )
    _check_names(stated or {}, NUTRIENTS)
    amounts: dict[str, Decimal | None] = {name: _decimal(value) for name, value in food.panel.items()}
    told = {name: value for name, value in (stated or {}).items() if value is not None}
    hundred = _decimal(HUNDRED)
    return _kept(product, ProductNutrition.Source.SR28, ndb_no, hundred, amounts | told, measures, recorded_by)


def _kept(
    product: Product,
    source: str,
    ndb_no: str,
    basis_g: Decimal,
    amounts: Mapping[str, Decimal | None],
    measures: Mapping[str, Decimal | None] | None,
    recorded_by: AbstractBaseUser | None,
) -> ProductNutrition:
    _check_names(measures or {}, MEASURES)
    told: dict[str, Any] = {name: value for name, value in (measures or {}).items() if value is not None}
    row = ProductNutrition(product=product, source=source, ndb_no=ndb_no, basis_g=basis_g, **amounts, **told)
    row.recorded_by_id = recorded_by.pk if recorded_by else None
    row.full_clean()
    row.save()
    return row


def _check_names(given: Mapping[str, object], known: tuple[str, ...]) -> None:
    if stray := [name for name in given if name not in known]:
        raise ValidationError(
            "“%(name)s” is none of %(known)s.",
            code="nutrition-name",
            params={"name": stray[0], "known": ", ".join(known)},
        )


def _decimal(value: Any) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
