"""Record what was done in a kitchen, and take back what was recorded by mistake."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from menus.kitchen.cleaning import UnknownMethod, removes
from menus.models import Deed, Delivery, KitchenEvent, PlanStep, Product, Serving, Site, Surface
from menus.models.event import standing
from menus.signals import facts_changed

UNDO_FOR = timedelta(minutes=1)
"""How long a record can be taken back without a word."""

FOLLOWED = timedelta(days=14)
"""How far back a record may reach: as far as equipment is followed."""


@dataclass(frozen=True, slots=True)
class Doing:
    """What was done, to what. Which of these a record names, its kind says (`menus.models.event.NAMES`)."""

    kind: Deed
    surface: Surface | None = None
    serving: Serving | None = None
    step: PlanStep | None = None
    method: str = ""
    other_surface: Surface | None = None
    product_out: Product | None = None
    product_in: Product | None = None
    whole: bool = False
    batch: Serving | None = None
    note: str = ""


@transaction.atomic
def record_event(
    *,
    site: Site,
    user: AbstractBaseUser,
    doing: Doing,
    happened_at: datetime | None = None,
    corrects: KitchenEvent | None = None,
    token: UUID | None = None,
) -> KitchenEvent:
    """Keep what was done in the site's kitchen, at that moment (default: now), and return the record.

    With `corrects` it stands in the place of an earlier record. Sent twice with one token it is kept once. The caller
    has made sure that the user may record there. Raises ValidationError for what is not of this kitchen, a time that
    lies ahead or too far back, an unknown cleaning method, and a step or a record that another record stands for.
    """
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)  # two taps on one step must see each other
    if token and (kept := KitchenEvent.objects.filter(token=token).first()):
        return kept
    now = timezone.now()
    event = KitchenEvent(
        site=site,
        kind=doing.kind,
        happened_at=happened_at or now,
        recorded_at=now,
        recorded_by_id=user.pk,
        surface=doing.surface,
        serving=doing.serving,
        step=doing.step,
        method=doing.method,
        other_surface=doing.other_surface,
        product_out=doing.product_out,
        product_in=doing.product_in,
        whole=doing.whole,
        batch=doing.batch,
        note=doing.note.strip(),
        corrects=corrects,
        token=token,
    )
    _refuse_strangers(event)
    _refuse_times(event, now)
    _refuse_method(event)
    _refuse_taken(event)
    event.full_clean()
    event.save()
    facts_changed.send(sender=KitchenEvent, instance=event)
    return event


def take_back(
    *, event: KitchenEvent, user: AbstractBaseUser, note: str = "", token: UUID | None = None
) -> KitchenEvent:
    """Record that an earlier record was a mistake: it no longer counts, and both are kept.

    Raises ValidationError when another record stands for it already, and without a note once a minute has passed.
    """
    if not note.strip() and timezone.now() - event.recorded_at > UNDO_FOR:
        raise ValidationError(
            "More than a minute has passed, and others may have acted on this record. Say what was wrong with it.",
            code="note-wanted",
        )
    return record_event(site=event.site, user=user, doing=Doing(Deed.UNDO, note=note), corrects=event, token=token)


def _refuse_strangers(event: KitchenEvent) -> None:
    """Refuse what does not belong to the kitchen."""
    for surface in (event.surface, event.other_surface):
        if surface and surface.site_id != event.site_id:
            raise _error("%(what)s does not stand in this kitchen. Choose equipment of %(site)s.", surface, event)
    for serving in (event.serving, event.batch):
        if serving and not cooked_at(serving, event.site):
            raise _error("%(what)s is not cooked in this kitchen. Choose a dish of %(site)s.", serving, event)
    if event.step and (event.step.site_id != event.site_id or event.step.surface != event.surface):
        raise _error("“%(what)s” is no step of this work at %(site)s. Choose the step again.", event.step, event)
    if event.corrects and event.corrects.site_id != event.site_id:
        raise _error("“%(what)s” was recorded in another kitchen. Correct it there.", event.corrects, event)
    if event.batch and event.serving and event.batch.date > event.serving.date:
        raise _error(
            "%(what)s is cooked later, so nothing of it can be left over. Choose an earlier day.", event.batch, event
        )


def cooked_at(serving: Serving, site: Site) -> bool:
    """Tell whether the site's kitchen cooks the serving: for itself, or to be delivered. One query at most."""
    if serving.site_id == site.pk:
        return True
    deliveries = Delivery.objects.standing().filter(kitchen=site, site=serving.site_id)
    return any(each.brings(serving.meal, serving.recipe_id) for each in deliveries)


def _refuse_times(event: KitchenEvent, now: datetime) -> None:
    here = event.happened_at.astimezone(event.site.zone)
    if event.happened_at > now:
        raise ValidationError(
            "%(time)s lies ahead. Record what was done, at the time at which it was done.",
            code="ahead",
            params={"time": f"{here:%H:%M on %d %B}"},
        )
    if event.happened_at < now - FOLLOWED:
        raise ValidationError(
            "%(time)s is more than %(days)s days ago, and equipment is not followed that far. Give a later time.",
            code="long-ago",
            params={"time": f"{here:%d %B %Y}", "days": FOLLOWED.days},
        )


def _refuse_method(event: KitchenEvent) -> None:
    if event.method and event.surface:
        try:
            removes(event.method, event.surface.material)
        except UnknownMethod as unknown:
            raise ValidationError(str(unknown), code="method") from unknown


def _refuse_taken(event: KitchenEvent) -> None:
    """Refuse a second record for one step of one day, and a second correction of one record."""
    if event.corrects and (later := KitchenEvent.objects.filter(corrects=event.corrects).first()):
        raise _error("This record was corrected already: “%(what)s”. Look at the newest one.", later, event)
    if event.corrects and event.corrects.kind == Deed.UNDO:
        raise _error("“%(what)s” only took a record back. Record again what was done.", event.corrects, event)
    if event.step is None:
        return
    day = event.happened_at.astimezone(event.site.zone).date()
    for other in standing(KitchenEvent.objects.filter(Q(step=event.step) | Q(corrects__step=event.step))):
        same_day = other.happened_at.astimezone(event.site.zone).date() == day
        if other.step_id == event.step.pk and same_day and other != event.corrects:
            raise _error("This step is on record already: “%(what)s”. Take that back first.", other, event)


def _error(sentence: str, what: object, event: KitchenEvent) -> ValidationError:
    return ValidationError(sentence, code="kitchen-event", params={"what": what, "site": event.site})
