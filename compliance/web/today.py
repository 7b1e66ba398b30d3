"""My class today: who must avoid what, and what today's meals mean for them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.age import AgeNotice, serving_notices
from compliance.checks.announced import announced, by_dish
from compliance.checks.avoided import NOTHING, Avoided, avoided_by
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.lines import asked, lines
from compliance.checks.pageread import changed, read_of_class
from compliance.checks.served import checked_servings
from compliance.checks.texture import dish_textures, levels_asked, withheld_from
from compliance.checks.texturesaid import Told, texture_lines, texture_says
from compliance.models import Run
from compliance.rules.values import Outcome
from compliance.web.classrooms import Room, room_of
from compliance.web.names import short_names
from compliance.web.signed_in import SignedInRequest
from compliance.web.uptodate import watched_class
from menus.models import Serving
from menus.models.cycle import MEAL_ORDER
from menus.services.closed import Closed, closures_at, is_served
from roster.models import Child, Classroom, Enrolment, TextureLevel


@dataclass
class Dish:
    """One dish of today and whom it concerns, by child and outcome; `checked` is False until a run has read it."""

    pk: int
    name: str
    checked: bool
    by_age: list[AgeNotice]
    textures: list[Told] = field(default_factory=list)
    concerned: dict[str, dict[Outcome, list[str]]] = field(default_factory=dict)

    @property
    def outcomes(self) -> list[tuple[Outcome, list[tuple[str, str]]]]:
        """The gravest outcome first, each child once, at their gravest, with all that they avoid in this dish."""
        gravest: dict[Outcome, dict[str, list[str]]] = {}
        for name, met in sorted(self.concerned.items()):
            foods = [food for outcome in sorted(met, reverse=True) for food in met[outcome]]
            gravest.setdefault(max(met), {})[name] = foods
        return [
            (outcome, [(name, ", ".join(foods)) for name, foods in gravest[outcome].items()])
            for outcome in sorted(gravest, reverse=True)
        ]


@dataclass
class Meal:
    """One meal of today."""

    name: str
    despite: bool = False  # on the plan although the calendar says that it is not served
    dishes: list[Dish] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Avoider:
    """One child and what they avoid. Food only: neither diagnosis nor reason is shown to a class."""

    child: int
    name: str
    foods: tuple[str, ...]
    told: tuple[str, ...]  # what no check looks for, and people see to


@dataclass(slots=True)
class Wait:
    """One child for whom several dishes of today wait for the same answers."""

    name: str
    questions: dict[str, None] = field(default_factory=dict)
    dishes: int = 0


@require_safe
def today(request: SignedInRequest) -> HttpResponse:
    """Show the class. The number of queries does not grow with it."""
    room, now = room_of(request), timezone.now()
    read = read_of_class(room.classroom, room.today)  # before the rest is read
    children = list(_enrolled(room.classroom, room.today))
    names = short_names(children)
    asked_for = ExceptionFilter(room.today, room.today, site=room.site, classroom=room.classroom)
    rows = find_exceptions(request.user, asked_for)
    closed = closures_at(room.site, room.today, room.today)
    levels = levels_asked(names, now)
    meals = _meals(rows, room, children, names, closed, levels, now)
    avoiders = _avoiders(children, names, room.today, now, levels)
    run = Run.objects.covering(room.today).newest_for(room.site)
    return render(
        request,
        "today/today.html",
        {
            "room": room,
            "watched": watched_class(room.classroom.pk, read),
            "unread": changed(read_of_class(room.classroom, room.today, run.as_of), read) if run else [],
            "site": room.site,
            "as_of": now,
            "day": room.today,
            "children": len(children),
            "others": _others(children, names, avoiders),
            "avoiders": avoiders,
            "levels": bool(levels),
            "told": [each for each in avoiders if each.told],
            "meals": meals,
            "closed": closed.get(room.today, []),
            "waits": _waits(rows, names),
            "news": by_dish(announced(rows), lambda row: names[row.child.pk]),
            "concerned": any(dish.concerned for meal in meals for dish in meal.dishes),
            "run": run,
            "old": run is None or now - run.as_of > timedelta(hours=24),
        },
    )


def _enrolled(classroom: Classroom, day: date) -> QuerySet[Child]:
    enrolments = Enrolment.objects.on(day).filter(classroom=classroom)
    return Child.objects.filter(pk__in=enrolments.values("child")).order_by("given_name", "family_name", "pk")


def _avoiders(
    children: list[Child], names: dict[int, str], day: date, now: datetime, levels: dict[int, TextureLevel]
) -> list[Avoider]:
    held = avoided_by(children, day, now)
    return [
        _avoider(child.pk, names[child.pk], held.get(child.pk, NOTHING), levels.get(child.pk))
        for child in children
        if child.pk in held or child.pk in levels
    ]


def _avoider(child: int, name: str, held: Avoided, level: TextureLevel | None) -> Avoider:
    return Avoider(child, name, held.foods, (*held.told, *([texture_says(level)] if level else [])))


def _others(children: list[Child], names: dict[int, str], avoiders: list[Avoider]) -> list[tuple[int, str]]:
    """The children with nothing on record, who may react all the same."""
    named = {avoider.child for avoider in avoiders}
    return [(child.pk, names[child.pk]) for child in children if child.pk not in named]


def _waits(rows: list[ExceptionRow], names: dict[int, str]) -> list[Wait]:
    """Return what several dishes wait for, so that nobody asks once a dish."""
    waits: dict[int, Wait] = {}
    for line in lines(rows):
        if len(line.rows) > 1 and line.first.waits_for:
            child = line.first.child.pk
            wait = waits.setdefault(child, Wait(names[child]))
            wait.questions.update(dict.fromkeys(asked(line.first, reason) for reason in line.first.open_reasons))
            wait.dishes += len(line.rows)
    return list(waits.values())


def _meals(
    rows: list[ExceptionRow],
    room: Room,
    children: list[Child],
    names: dict[int, str],
    closed: Closed,
    levels: dict[int, TextureLevel],
    now: datetime,
) -> list[Meal]:
    """Return today's meals with the class's exceptions, in the order of the day."""
    day, site = room.today, room.site
    servings = Serving.objects.planned().filter(site=site, date=day).select_related("recipe").order_by("pk")
    checked = checked_servings(site, day, day)
    by_age = serving_notices(servings, [child.birth_date for child in children], day, site)
    dishes = {
        serving.pk: Dish(serving.pk, serving.recipe.name, serving.pk in checked, by_age[serving.pk])
        for serving in servings
    }
    for row in rows:
        concerned = dishes[row.serving.pk].concerned.setdefault(names[row.child.pk], {})
        concerned.setdefault(row.outcome, []).append(row.substance_name)
    withheld = withheld_from(rows)
    for pk, texture in dish_textures(servings, {site.pk: levels}, now).items():
        dishes[pk].textures = texture_lines(texture.without(withheld.get(pk, ())), names)
    meals: dict[str, Meal] = {}
    for serving in sorted(servings, key=lambda each: MEAL_ORDER[each.meal]):
        despite = not is_served(closed, day, serving.meal)
        meal = meals.setdefault(serving.meal, Meal(serving.get_meal_display(), despite))
        meal.dishes.append(dishes[serving.pk])
    return list(meals.values())


urls = [path("today/", today, name="today")]
