"""What a page was made from, as a short mark: another mark a minute later means that the page is out of date.

The mark holds ids of facts, kind by kind, and none of what they say. Facts are never edited, so ids are enough.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db.models import CharField, Max, QuerySet, Value
from django.db.models.functions import Cast, Coalesce, Concat
from django.utils import timezone

from compliance.checks.schedule import last_looked_at
from compliance.models import ServedDish
from menus.models import (
    Alternative,
    Closure,
    CycleEntry,
    CycleMenu,
    KitchenEvent,
    Label,
    PlanStep,
    ProductNutrition,
    RecipeVersion,
    Serving,
    Site,
    SitePattern,
    WordReview,
    WordWithdrawal,
)
from roster.models import Allowance, Child, Classroom, Enrolment, Restriction, TextureLevel

KINDS = {
    "c": "the class list",
    "r": "a restriction",
    "a": "an allowance",
    "t": "a level of texture",
    "l": "a label",
    "w": "a word of the lexicon",
    "d": "the check of the dish",
    "k": "a record of the kitchen",
    "m": "what is planned or on hand",
}
"""What may have changed, in words, by the letter that stands for it in a mark."""

DIGITS = 10
Read = tuple[str, str]
"""One fact that was read: the letter of its kind, and its id."""


def mark_of(facts: Iterable[Read]) -> str:
    """Return the mark of the facts, in whatever order they come: a letter and a digest for each kind."""
    kinds: dict[str, set[str]] = {}
    for kind, id in facts:
        kinds.setdefault(kind, set()).add(id)
    return "".join(f"{kind}{_digest(kinds[kind])}" for kind in sorted(kinds))


def _digest(ids: set[str]) -> str:
    return hashlib.sha256("\n".join(sorted(ids)).encode()).hexdigest()[:DIGITS]


def changed(then: str, now: str) -> list[str]:
    """Return in words what differs between two marks; a mark that cannot be read differs in everything."""
    before, after = _kinds(then), _kinds(now)
    if before is None or after is None:
        return list(KINDS.values())
    return [words for kind, words in KINDS.items() if before.get(kind) != after.get(kind)]


def _kinds(mark: str) -> dict[str, str] | None:
    parts = [mark[at : at + DIGITS + 1] for at in range(0, len(mark), DIGITS + 1)]
    if any(len(part) <= DIGITS or part[0] not in KINDS for part in parts):
        return None
    return {part[0]: part[1:] for part in parts}


def read_of_class(classroom: Classroom, day: date, at: datetime | None = None) -> str:
    """Return the mark of who is in the class on that day, what they avoid and what they are allowed. One query.

    As known at that moment; of enrolments only the present state is known.
    """
    at = at or timezone.now()
    stays = Enrolment.objects.on(day).filter(classroom=classroom)
    return mark_of(_rows(*_children(stays, day, at), _allowances(stays, day, at)))


def read_of_treat(classroom: Classroom, day: date, label: Label | None) -> str:
    """Return the mark of what an answer about a food rests on: the class, allowances, label, lexicon. One query."""
    now = timezone.now()
    stays = Enrolment.objects.on(day).filter(classroom=classroom)
    return mark_of(_rows(*_children(stays, day, now), _allowances(stays, day, now), *_food(label)))


def food_read(label: Label | None) -> list[Read]:
    """Return what a food is judged by: the labels of its product, and the words of the lexicon. One query."""
    return list(_rows(*_food(label)))


def read_of_serving(serving: Serving, at: datetime | None = None) -> str:
    """Return the mark of what one dish is judged by: children, allowances, its last check, its labels. One query.

    `at` is the moment of which that check speaks: what was recorded after it is not in what the page shows.
    """
    now, day = at or timezone.now(), serving.date
    stays = Enrolment.objects.on(day).filter(classroom__site=serving.site_id)
    dishes = ServedDish.objects.filter(serving=serving)
    labels = Label.objects.filter(product__lines__version__recipe=serving.recipe_id, recorded_at__lte=now)
    return mark_of(
        _rows(
            *_children(stays, day, now),
            _allowances(stays, day, now),
            _told("d", dishes, Cast("dish", CharField())),
            _told("d", Serving.objects.filter(pk=serving.pk).exclude(withdrawn_at=None), Value("withdrawn")),
            _ids("l", labels),
        )
    )


def read_of_kitchen(site: Site, day: date) -> str:
    """Return the mark of the children whom a kitchen cooks for, and of its plan and records of the day. One query."""
    now = timezone.now()
    first = datetime.combine(day, datetime.min.time(), site.zone)
    fed = Site.objects.filter(pk=site.pk) | Site.objects.filter(delivered__kitchen=site)
    stays = Enrolment.objects.on(day).filter(classroom__site__in=fed.order_by().values("pk"))
    records = KitchenEvent.objects.filter(site=site, happened_at__gte=first)
    steps = PlanStep.objects.filter(site=site, withdrawn_at=None)
    return mark_of(
        _rows(
            *_children(stays, day, now),
            _allowances(stays, day, now),
            _ids("k", records),
            _told("k", steps, Concat(Value("plan "), Cast("pk", CharField()))),
        )
    )


def read_of_meals(site: Site, first: date, last: date) -> str:
    """Return the mark of what a week's meals are worked out from: children, checks, plan, what is on hand. One query.

    Of labels, recipes, words and patterns it holds the newest: any of them may bear on a dish on hand.
    """
    now = timezone.now()
    stays = Enrolment.objects.during(first, last).filter(classroom__site=site)
    children = stays.order_by().values("child")
    planned = Serving.objects.planned().filter(site=site).between(first, last)
    held = Allowance.objects.known(now).filter(starts_on__lte=last, ends_on__gte=first)
    on_hand = Alternative.objects.between(first, last).filter(site=site)
    until = Coalesce(Cast("ends_on", CharField()), Value(""))
    return mark_of(
        _rows(
            _told("c", stays, _joined("child", "child__birth_date", "classroom", "starts_on", "ends_on")),
            _ids("r", Restriction.objects.standing(first, last, now).filter(child__in=children)),
            _ids("a", held.filter(restriction__child__in=children)),
            _ids("t", TextureLevel.objects.standing(now).filter(child__in=children)),
            _told(
                "d", ServedDish.objects.filter(serving__in=planned.order_by().values("pk")), _joined("serving", "dish")
            ),
            _ids("m", planned),
            _told(
                "m", planned.exclude(choice=""), Concat(Value("choice "), Cast("pk", CharField()), Value(" "), "choice")
            ),
            _told("m", on_hand, Concat(Value("on hand "), Cast("pk", CharField()), Value(" "), until)),
            _newest("m", SitePattern.objects.filter(site=site), "pattern "),
            _newest("m", RecipeVersion.objects.filter(recorded_at__lte=now), "recipe "),
            _newest("l", Label.objects.filter(product__lines__isnull=False, recorded_at__lte=now), "newest "),
            _newest("l", ProductNutrition.objects.filter(recorded_at__lte=now), "holds "),
            *_cycles(site, last, now),
            *_words(),
        )
    )


def _cycles(site: Site, last: date, at: datetime) -> tuple[QuerySet[Any, Read], ...]:
    """What the cycles and the calendar say, where some of the days are read from them for want of a plan."""
    if last <= last_looked_at(at.astimezone(site.zone).date()):
        return ()
    cycles = CycleMenu.objects.filter(site=site)
    entries = CycleEntry.objects.filter(cycle__in=cycles.order_by().values("pk"))
    return (
        _told("m", cycles, _joined("starts_on", "ends_on", "weeks", "pauses")),
        _told("m", entries, _joined("cycle", "week", "weekday", "meal", "recipe", "choice")),
        _newest("m", Closure.objects.all(), "closure "),
    )


def _joined(*fields: str) -> Any:
    """These fields as one text."""
    parts: list[Any] = []
    for name in fields:
        parts += [Coalesce(Cast(name, CharField()), Value("")), Value(" ")]
    return Concat(*parts)


def _newest(kind: str, rows: QuerySet[Any], sign: str) -> QuerySet[Any, Read]:
    newest = Coalesce(Cast(Max("pk"), CharField()), Value(""))
    one = rows.order_by().annotate(kind=Value(kind)).values("kind").annotate(said=Concat(Value(sign), newest))
    told: QuerySet[Any, Read] = one.values_list("kind", "said")
    return told


def _children(stays: QuerySet[Enrolment], day: date, at: datetime) -> tuple[QuerySet[Any, Read], ...]:
    """Who is there, with the birth date that age rules go by, what they avoid, and the textures set for them.

    Textures as of now, whatever the moment: pages read them afresh, and no check has them in it.
    """
    children = Child.objects.filter(pk__in=stays.order_by().values("child"))
    born = Coalesce(Cast("birth_date", CharField()), Value(""))
    avoided = Restriction.objects.standing(day, day, at).filter(child__in=children.order_by().values("pk"))
    levels = TextureLevel.objects.standing(timezone.now()).filter(child__in=children.order_by().values("pk"))
    there = _told("c", children, Concat(Cast("pk", CharField()), Value(" "), born))
    return there, _ids("r", avoided), _ids("t", levels)


def _allowances(stays: QuerySet[Enrolment], day: date, at: datetime) -> QuerySet[Any, Read]:
    held = Allowance.objects.known(at).filter(starts_on__lte=day, ends_on__gte=day)
    return _ids("a", held.filter(restriction__child__in=stays.order_by().values("child")))


def _food(label: Label | None) -> tuple[QuerySet[Any, Read], ...]:
    """Every label of the product: a newer one may be recorded while the page is looked at."""
    return _ids("l", Label.objects.filter(product=label.product_id if label else None)), *_words()


def _words() -> tuple[QuerySet[Any, Read], QuerySet[Any, Read]]:
    """The newest answer about a word and the newest end of one: any of them may change how a label is read."""
    newest = Coalesce(Cast(Max("pk"), CharField()), Value(""))
    reviews, ends = (
        table.objects.order_by().annotate(kind=Value("w")).values("kind").annotate(said=Concat(Value(sign), newest))
        for table, sign in ((WordReview, "accepted "), (WordWithdrawal, "ended "))
    )
    return reviews.values_list("kind", "said"), ends.values_list("kind", "said")


def _ids(kind: str, rows: QuerySet[Any]) -> QuerySet[Any, Read]:
    return _told(kind, rows, Cast("pk", CharField()))


def _told(kind: str, rows: QuerySet[Any], said: Any) -> QuerySet[Any, Read]:
    return rows.order_by().values_list(Value(kind), said)


def _rows(first: QuerySet[Any, Read], *others: QuerySet[Any, Read]) -> Iterable[Read]:
    return first.union(*others, all=True)
