"""Another dish in the place of a planned one: the old serving is withdrawn, and a new one says where it stands."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from menus.models import Delivery, KitchenEvent, Recipe, Serving, Site
from menus.models.event import standing
from menus.signals import facts_changed


@transaction.atomic
def exchange_dish(*, serving: Serving, recipe: Recipe, today: date) -> Serving:
    """Put the recipe on the plan in the place of the serving's dish, and return the new serving; its day is rechecked.

    `today` is the site's day. What the cycle calls for there is not planned again beside it, and it is one choice of
    what the old dish was. The caller has made sure that the user may do so at the site, and puts it on record. Raises
    ValidationError for what `refuse_exchange` refuses.
    """
    site = Site.objects.select_for_update(no_key=True).get(pk=serving.site_id)  # planning waits, and so does another
    stands = Serving.objects.select_related("in_place_of").get(pk=serving.pk)
    refuse_exchange(serving=stands, recipe=recipe, today=today)
    first = stands.in_place_of or stands
    stands.withdrawn_at = timezone.now()
    stands.save(update_fields=["withdrawn_at"])
    new = Serving(
        site=site,
        date=stands.date,
        meal=stands.meal,
        recipe=recipe,
        cycle_id=stands.cycle_id,
        choice=stands.choice,
        in_place_of=first if first.recipe_id != recipe.pk else None,
    )
    new.full_clean()
    new.save()
    facts_changed.send(sender=Serving, instance=new)
    return new


def refuse_exchange(*, serving: Serving, recipe: Recipe, today: date) -> None:
    """Raise ValidationError, with what to do, where the recipe cannot take the place of the serving's dish.

    So it is when somebody changed the plan, the day is past, the kitchen has begun with the dish, the recipe is of
    another kitchen or has no lines, or it stands on that meal already. Four queries.
    """
    dish = serving.recipe
    if serving.withdrawn_at:
        raise _error("stale", f"Somebody changed that meal meanwhile: “{dish}” is no longer on its plan. Look again.")
    if serving.date < today:
        raise _error("past", f"{serving.date:%A %d %B} is past. What was planned then stays on record as it was.")
    if _begun(serving):
        raise _error(
            "begun",
            f"The kitchen has recorded work on “{dish}” for that meal: it is being cooked, or was served. If that is a "
            "slip, take the records back first. If a product was replaced, record that on the kitchen's day.",
        )
    if recipe.site_id not in (None, serving.site_id) or not recipe.versions.exists():
        raise _error("recipe", f"“{recipe}” is another kitchen's, or has no lines. Choose another dish.")
    there = Serving.objects.planned().filter(site=serving.site_id, date=serving.date, meal=serving.meal)
    if there.filter(recipe=recipe).exists():
        raise _error("there", f"“{recipe}” stands on that meal already. Choose another dish.")


def _begun(serving: Serving) -> bool:
    """Whether a record of the kitchen, or of one that delivers, names the dish; one serving stands for its batch."""
    kitchens = Delivery.objects.standing().filter(site=serving.site_id).values("kitchen")
    named = KitchenEvent.objects.filter(
        Q(site=serving.site_id) | Q(site__in=kitchens),
        serving__date=serving.date,
        serving__meal=serving.meal,
        serving__recipe=serving.recipe_id,
    )
    records = list(named)
    corrections = KitchenEvent.objects.filter(corrects__in=records)
    return any(each in records for each in standing([*records, *corrections]))


def _error(code: str, message: str) -> ValidationError:
    return ValidationError(message, code=code)
