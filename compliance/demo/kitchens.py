"""The demo's two kitchens: equipment, what the school cooks for the daycare, the order of work, and a day's records."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from django.utils import timezone

from compliance.demo.files import rows
from menus.models import Delivery, KitchenEvent, PlanStep, Recipe, Serving, Site, Surface
from roster.models import User

A_MINUTE = timedelta(minutes=1)


def load_kitchens(sites: dict[str, Site]) -> None:
    """Write equipment, deliveries and the usual order of work."""
    recipes = Recipe.objects.in_bulk(field_name="code")
    surfaces = _load_surfaces(sites)
    for row in rows("deliveries.csv"):
        delivery = Delivery(
            kitchen=sites[row["kitchen"]], site=sites[row["site"]], meal=row["meal"], recipe=recipes[row["recipe"]]
        )
        delivery.full_clean()
        delivery.save()
    for row in rows("order_of_work.csv"):
        step = PlanStep(
            site=sites[row["site"]],
            meal=row["meal"],
            at=time.fromisoformat(row["at"]),
            minutes=int(row["minutes"]),
            action=row["action"],
            surface=surfaces[row["site"], row["surface"]],
            recipe=recipes[row["recipe"]] if row["recipe"] else None,
            method=row["method"],
        )
        step.full_clean()
        step.save()


def _load_surfaces(sites: dict[str, Site]) -> dict[tuple[str, str], Surface]:
    surfaces: dict[tuple[str, str], Surface] = {}
    for row in rows("surfaces.csv"):
        surface = Surface(
            site=sites[row["site"]],
            name=row["name"],
            kind=row["kind"],
            material=row["material"],
            dedicated_for=row["dedicated_for"],
        )
        surface.full_clean()
        surface.save()
        surfaces[row["site"], row["name"]] = surface
    return surfaces


def load_records(*, today: date, users: dict[str, User]) -> None:
    """Write what the kitchens recorded today until now: the marked steps of the order of work. The rest is theirs."""
    recorded = {
        (row["site"], row["meal"], row["at"], row["surface"]) for row in rows("order_of_work.csv") if row["recorded"]
    }
    for step in PlanStep.objects.select_related("site", "surface", "recipe").order_by("at", "pk"):
        at = datetime.combine(today, step.at, step.site.zone)
        key = (step.site.code, step.meal, f"{step.at:%H:%M}", step.surface.name)
        if key in recorded and at + A_MINUTE <= timezone.now():
            _record(step, at, users[step.site.code])


def _record(step: PlanStep, at: datetime, user: User) -> None:
    servings = Serving.objects.planned().filter(date=at.date(), meal=step.meal)
    cooked = servings.filter(recipe=step.recipe).order_by("pk").first() if step.recipe else None
    if not (cooked or (step.recipe is None and servings.filter(site=step.site).exists())):
        return
    event = KitchenEvent(
        site=step.site,
        kind=step.action,
        happened_at=at,
        recorded_at=at + A_MINUTE,
        recorded_by=user,
        step=step,
        surface=step.surface,
        serving=cooked,
        method=step.method,
    )
    event.full_clean()
    event.save()
