"""Say which dishes a kitchen has on hand beside its menu, and that it has one no longer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from menus.models import Alternative, Recipe, Site
from menus.models.alternative import Counted


@transaction.atomic
def add_alternative(
    *,
    site: Site,
    recipe: Recipe,
    starts_on: date,
    ends_on: date | None = None,
    meals: Sequence[str] = (),
    portions: int | None = None,
    counted: str = Counted.WEEK,
    cost: Decimal | None = None,
    milk_cups: Decimal | None = None,
    note: str = "",
) -> Alternative:
    """Keep that the site can prepare the dish from that day on, and return what was kept.

    The caller has made sure that the user may say so. Raises ValidationError for a dish of another site, one that is
    on hand on some of these days already, and an end before the beginning.
    """
    if recipe.site_id not in (None, site.pk):
        raise ValidationError(
            "%(dish)s belongs to another site. Choose a dish of %(site)s, or one that every site may cook.",
            code="other-site",
            params={"dish": recipe, "site": site},
        )
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)  # two people who add the same dish see each other
    _refuse_twice(site, recipe, starts_on, ends_on)
    alternative = Alternative(
        site=site,
        recipe=recipe,
        starts_on=starts_on,
        ends_on=ends_on,
        meals=list(meals),
        portions=portions,
        counted=counted,
        cost=cost,
        milk_cups=milk_cups,
        note=note.strip(),
    )
    alternative.full_clean()
    alternative.save()
    return alternative


@transaction.atomic
def end_alternative(*, alternative: Alternative, last_day: date) -> Alternative:
    """Keep that the dish is on hand until that day and no longer.

    Raises ValidationError when it has ended by then already, or had not begun.
    """
    stands = Alternative.objects.select_for_update(no_key=True).get(pk=alternative.pk)
    if stands.ends_on is not None and stands.ends_on <= last_day:
        raise ValidationError(
            "%(dish)s was on hand until %(day)s: it has ended already, and nothing was changed.",
            code="ended",
            params={"dish": stands.recipe, "day": f"{stands.ends_on:%d %B %Y}"},
        )
    stands.ends_on = last_day
    stands.full_clean(exclude={"site", "recipe"})
    stands.save()
    return stands


def _refuse_twice(site: Site, recipe: Recipe, starts_on: date, ends_on: date | None) -> None:
    there = Alternative.objects.between(starts_on, ends_on or date.max).filter(site=site, recipe=recipe).first()
    if there:
        until = f"until {there.ends_on:%d %B %Y}" if there.ends_on else "with no end"
        raise ValidationError(
            "%(dish)s is on hand from %(from)s %(until)s already. End that entry first, or choose days beside it.",
            code="twice",
            params={"dish": recipe, "from": f"{there.starts_on:%d %B %Y}", "until": until},
        )
