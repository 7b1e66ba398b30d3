"""A little district that every test gets a copy of: six sites, one menu, children of both kinds, staff with a mailbox.

Its servings are planned already, so that nights of two copies of it can be compared to the letter.
"""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.utils import timezone

from menus.models import Meal, Recipe, Site, Weekday
from menus.services.servings import plan_servings
from roster.enrolling import enrol
from roster.models import Basis, Classroom, Post, Role, User, Verb
from roster.record.together import as_one
from roster.services import record_restriction
from tests.factories import (
    PASSWORD,
    ChildFactory,
    ClassroomFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    PostFactory,
    ProductFactory,
    ServingFactory,
    SiteFactory,
    UserFactory,
    cooked,
    labelled,
    this_monday,
)

SITES = 6
TEACHERS = 50
ALONE = 3
"""The site that has a stew today, with a broth in it, which nobody else has."""
AVOIDED = ("milk", "peanut", "gluten", "egg", "sesame", "tree-nut.cashew")
TEACHER = "teacher-{}"


def fill() -> None:
    """Write the district."""
    with as_one(Verb.RECORDED, "the district"):
        dishes = _dishes()
        sites = [_site(number, dishes) for number in range(SITES)]
        stew = cooked("Stew", labelled("beans, salt", name="Beans"), cooked("Broth", labelled("water", name="Water")))
        ServingFactory.create(site=sites[ALONE], recipe=stew, date=timezone.now().date())
        _teachers(list(Classroom.objects.order_by("pk")))
        for name, role in (("nurse", Role.LICENSED), ("head", Role.ADMINISTRATOR)):
            PostFactory.create(user=UserFactory.create(username=name), role=role, site=None, classroom=None)
    today = timezone.now().date()
    for site in sites:
        # The day after the window too, should midnight come between.
        plan_servings(site=site, first=today, last=today + timedelta(days=settings.NIGHTLY_WINDOW_DAYS))


def _dishes() -> list[Recipe]:
    bread = labelled("whole wheat flour, water, yeast, salt", name="Sandwich bread", label={"contains": "Wheat."})
    spread = labelled("roasted peanuts, salt", name="Peanut spread", label={"contains": "Peanuts."})
    bar = labelled("rolled oats, dates", name="Oat bar", label={"precautionary": "May contain milk and tree nuts."})
    yogurt = labelled("cultured whole milk, sugar", name="Yogurt", label={"contains": "Milk."})
    unread = ProductFactory.create(name="Sauce without a label")
    return [
        cooked("Peanut sandwich", bread, spread),
        cooked("Oat bar", bar),
        cooked("Yogurt cup", yogurt),
        cooked("Rice with sauce", labelled("long grain rice", name="Rice"), unread),
        cooked("Toast", bread),
    ]


def _site(number: int, dishes: list[Recipe]) -> Site:
    site = SiteFactory.create(code=f"site-{number}", name=f"Invented School {number}")
    cycle = CycleMenuFactory.create(site=site, weeks=1, starts_on=this_monday())
    for weekday in list(Weekday)[:5]:
        for place in range(2):
            dish = dishes[(number + weekday + place) % len(dishes)]
            CycleEntryFactory.create(cycle=cycle, weekday=weekday, meal=Meal.LUNCH, recipe=dish)
    room = ClassroomFactory.create(site=site, name="Room 1", grade="KG")
    for place, substance in enumerate((AVOIDED[number], AVOIDED[(number + 2) % len(AVOIDED)])):
        child = ChildFactory.create(given_name=f"Child {number}-{place}")
        enrol(child=child, classroom=room, starts_on=timezone.localdate() - timedelta(days=30))
        record_restriction(child=child, substance=substance, basis=Basis.STATEMENT if place else Basis.REPORTED)
    return site


def _teachers(rooms: list[Classroom]) -> None:
    hashed = make_password(PASSWORD)  # once: it is slow on purpose
    people = [User(username=TEACHER.format(number), password=hashed) for number in range(TEACHERS)]
    User.objects.bulk_create(people)
    Post.objects.bulk_create(
        Post(user=each, role=Role.TEACHER, classroom=rooms[number % len(rooms)]) for number, each in enumerate(people)
    )
