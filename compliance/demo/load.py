"""Load the demo: an invented daycare and an invented school, whole, with menus for four weeks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils import timezone

from compliance.demo.files import rows
from compliance.demo.food import load_food
from compliance.demo.guardians import load_guardians
from compliance.demo.kitchens import load_records
from compliance.demo.lunchboxes import load_lunchboxes
from compliance.demo.meals import load_meals
from compliance.demo.onhand import load_on_hand
from compliance.demo.people import load_allowances, load_children, load_classrooms, load_staff
from compliance.demo.plans import load_plans
from compliance.demo.rooms import load_rooms
from compliance.demo.textures import load_textures
from menus.models import Site
from menus.services.servings import plan_servings
from roster.models import Post, Role, User, Verb
from roster.record.together import as_one

PASSWORD = "plain rice pudding"
AHEAD = timedelta(weeks=4)


class DemoRefused(Exception):
    """The demo does not go into this database; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class SignIn:
    """One account of the demo: who it is and what it sees."""

    username: str
    name: str
    role: str
    place: str


@dataclass(frozen=True, slots=True)
class DemoSignIns:
    """The accounts of the demo, all with one password."""

    password: str
    accounts: tuple[SignIn, ...]


def load_demo(today: date | None = None) -> DemoSignIns:
    """Write the demo school, all of it or nothing, and return its sign-ins.

    Again later it adds nothing but the servings of the coming weeks. `today` is the day that its dates count from.
    Raises DemoRefused when the database holds sites or accounts that are not the demo's.
    """
    today = today or timezone.localdate()
    with transaction.atomic():
        fresh = not _there()
        if fresh:
            _load(today)
        for site in Site.objects.filter(code__in=_site_codes()):
            plan_servings(site=site, first=today, last=today + AHEAD)
        if fresh:
            load_records(today=today, users=_cooks())
    return DemoSignIns(PASSWORD, tuple(_sign_ins()))


def _there() -> bool:
    """Tell whether the demo is loaded; refuse a database that is somebody's own."""
    others = Site.objects.exclude(code__in=_site_codes())
    if others.exists():
        raise DemoRefused(
            f"This database already holds a real school ({others[0].name}), and invented children must not stand "
            "beside real ones. Point DATA_DIR or DATABASE_URL to an empty database and run the demo there."
        )
    there = Site.objects.exists()
    if not there and User.objects.exists():
        raise DemoRefused(
            "This database already holds accounts, and the demo's accounts have a password that everybody knows. "
            "Point DATA_DIR or DATABASE_URL to an empty database and run the demo there."
        )
    return there


def _site_codes() -> list[str]:
    return [row["code"] for row in rows("sites.csv")]


@as_one(Verb.RECORDED, "the invented school")
def _load(today: date) -> None:
    sites = _load_sites()
    rooms = load_classrooms(sites)
    staff = load_staff(sites, rooms, password=PASSWORD, today=today)
    load_food(sites, today=today, seen_by=staff["kitchen"])
    load_on_hand(sites, today=today)
    load_meals(sites, today=today, recorded_by=staff["dietitian"])
    load_children(rooms, today=today, recorded_by=staff["nurse"])
    load_allowances(today=today, signed_by=staff["dietitian"])
    load_plans(today=today, nurse=staff["nurse"])
    load_textures(rooms["ferrowick", "Larks (K)"], today=today, nurse=staff["nurse"])
    load_guardians(password=PASSWORD)
    load_rooms(rooms, today=today, signed_by=staff["administrator"])
    load_lunchboxes(today=today)


def _cooks() -> dict[str, User]:
    """One cook of each site by its code."""
    posts = Post.objects.filter(role=Role.KITCHEN).select_related("user", "site").order_by("pk")
    return {post.site.code: post.user for post in posts if post.site}


def _load_sites() -> dict[str, Site]:
    sites: dict[str, Site] = {}
    for row in rows("sites.csv"):
        site = Site(code=row["code"], name=row["name"], time_zone=row["time_zone"], jurisdiction=row["jurisdiction"])
        site.full_clean()
        site.save()
        sites[site.code] = site
    return sites


def _sign_ins() -> list[SignIn]:
    names = [row["username"] for file in ("staff.csv", "guardians.csv") for row in rows(file)]
    posts = ("posts__site", "posts__classroom__site", "posts__child")
    users = User.objects.filter(username__in=names).prefetch_related(*posts)
    by_name = {user.username: user for user in users}
    return [_sign_in(by_name[name]) for name in names if name in by_name]


def _sign_in(user: User) -> SignIn:
    post = user.posts.all()[0]
    if post.classroom:
        place = f"{post.classroom.name}, {post.classroom.site.name}"
    elif post.child:
        place = str(post.child)
    else:
        place = post.site.name if post.site else "all sites"
    return SignIn(user.username, user.get_full_name(), post.get_role_display(), place)
