"""A new fact is noted with the sites that it bears on, so that they are checked again at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta
from functools import lru_cache
from typing import NamedTuple

from django.conf import settings
from django.db import transaction
from django.db.models import Model, QuerySet
from django.utils import timezone

from compliance.checks.foodstands import read_otherwise
from compliance.checks.reach import beside, cooked_by, sites_reached
from compliance.models import UnreadChange
from menus.lexicon import lexicon_with
from menus.models import (
    Delivery,
    KitchenEvent,
    Label,
    PlanStep,
    Product,
    Recipe,
    RecipeVersion,
    Site,
    Surface,
    WordReview,
    WordWithdrawal,
)
from roster.models import Allowance, AllowanceWithdrawal, Child, Classroom, Enrolment, Restriction

A_DAY = timedelta(days=1)
"""What the days of two clocks may lie apart."""


def sites_touched(fact: Model) -> QuerySet[Site]:
    """Return the sites that the fact bears on; all of them only where nothing tells."""
    now = timezone.now()
    match fact:
        case Label():
            return _these(sites_reached([fact.product_id], (), now))
        case Product():
            return _these(sites_reached([fact.pk], (), now))
        case RecipeVersion():
            return _these(sites_reached((), [fact.recipe_id], now))
        case Recipe():
            return _these(sites_reached((), [fact.pk], now))
        case WordReview():
            return _these(sites_reached(_read_otherwise(fact), (), now))
        case WordWithdrawal():
            return _these(sites_reached(_read_otherwise(fact.review), (), now))
        case _:
            return _of_sites(fact)


def queue_recheck(*, instance: Model, **_: object) -> None:
    """Note what the new fact bears on, and have it read once its transaction is through.

    One message goes out for a transaction, however many facts it records. A broker that cannot be reached is logged and
    no more: the note stands by then, and is found within minutes.
    """
    for note in _notes(instance):
        marker = _marker(note)
        # What waits already goes only when a savepoint is rolled back that holds the present fact as well.
        if _waits(marker):
            continue
        UnreadChange.objects.create(**{f"{note.of}_id": note.pk} if note.of else {})
        if transaction.get_connection().in_atomic_block:
            transaction.on_commit(marker)
    if not _waits(_send):
        transaction.on_commit(_send, robust=True)


class Note(NamedTuple):
    """What an UnreadChange is of: a column of its own, and the id that goes there; nothing for the lexicon."""

    of: str
    pk: int


def _notes(fact: Model) -> Iterable[Note]:
    """What is noted. Where food changed, the sites are found by whoever reads the note: menus may change meanwhile."""
    match fact:
        case Label():
            return [Note("product", fact.product_id)]
        case Product():
            return [Note("product", fact.pk)]
        case RecipeVersion():
            return [Note("recipe", fact.recipe_id)]
        case Recipe():
            return [Note("recipe", fact.pk)]
        case WordReview() | WordWithdrawal():
            return [Note("", 0)]
        case _:
            return [Note("site", site) for site in _of_sites(fact).order_by("pk").values_list("pk", flat=True)]


def _of_sites(fact: Model) -> QuerySet[Site]:
    match fact:
        case Enrolment():
            return Site.objects.filter(classrooms=fact.classroom_id)
        case Classroom():
            return Site.objects.filter(pk=fact.site_id)
        case Child():
            return _of_child(fact.pk)
        case Restriction() | Allowance() | AllowanceWithdrawal():
            return _of_child(fact.child_id)
        case Delivery():
            return _these(beside(fact.site_id) | beside(fact.kitchen_id))
        case Site():
            return _these(cooked_by(fact.pk))
        case PlanStep() | KitchenEvent() | Surface():
            return _these(cooked_by(fact.site_id))
        case _:
            # Servings, cycle menus and closures name their site, or are of all sites.
            site = getattr(fact, "site_id", None)
            return Site.objects.all() if site is None else _these(beside(site))


def _of_child(child: int) -> QuerySet[Site]:
    """The sites where the child is on one of the days that a check looks at."""
    today = timezone.now().date()
    stays = Enrolment.objects.during(today - A_DAY, today + timedelta(days=settings.NIGHTLY_WINDOW_DAYS) + A_DAY)
    return _these(stays.filter(child=child).values_list("classroom__site", flat=True))


def _these(sites: Iterable[int]) -> QuerySet[Site]:
    return Site.objects.filter(pk__in=set(sites))


def _read_otherwise(review: WordReview) -> set[int]:
    now = timezone.now()
    others = [each for each in WordReview.objects.standing(now) if each.pk != review.pk]
    accepted = WordReview.objects.select_related("word").get(pk=review.pk)
    with_it = sorted([*others, accepted], key=lambda each: each.pk)
    return read_otherwise(lexicon_with(others), lexicon_with(with_it), now)


def _waits(hook: Callable[[], None]) -> bool:
    return any(waiting is hook for _, waiting, _ in transaction.get_connection().run_on_commit)


@lru_cache(maxsize=4096)
def _marker(note: Note) -> Callable[[], None]:
    """Return what stands on the list of what is done on commit while the note is not committed. It does nothing."""
    return lambda: None


def _send() -> None:
    from compliance.tasks import recheck  # the task's module imports what reads the notes

    recheck.delay()
