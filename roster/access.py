"""Who may see what, said once. Every page, API view and export asks here."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import AnonymousUser
from django.db.models import Q, QuerySet
from django.utils import timezone

from menus.models import Site
from roster.models import Child, Classroom, Enrolment, Post, Role, User

SITE_WIDE = (Role.KITCHEN, Role.LICENSED, Role.ADMINISTRATOR)


def _posts(user: User | AnonymousUser, day: date | None = None) -> QuerySet[Post]:
    if not user.is_authenticated or not user.is_active:
        return Post.objects.none()
    return Post.objects.filter(user_id=user.pk).held_on(day or timezone.now().date())


def roles(user: User | AnonymousUser, site: Site | None = None) -> set[Role]:
    """Return the roles that the person holds today, at that site or at any. One query."""
    posts = _posts(user)
    if site:
        posts = posts.filter(Q(site=site) | Q(site=None, classroom=None) | Q(classroom__site=site))
    return {Role(role) for role in posts.values_list("role", flat=True)}


def has_role(user: User | AnonymousUser, *wanted: Role, site: Site | None = None) -> bool:
    """Tell whether the person holds one of the roles today, at that site or at any."""
    return not roles(user, site).isdisjoint(wanted)


def visible_sites(user: User | AnonymousUser, *wanted: Role) -> QuerySet[Site]:
    """Return the sites where the person holds one of the roles today (none named: any role)."""
    posts = _posts(user)
    if wanted:
        posts = posts.filter(role__in=wanted)
    if posts.filter(site=None, classroom=None).exists():
        return Site.objects.all()
    return Site.objects.filter(
        Q(pk__in=posts.exclude(site=None).values("site"))
        | Q(pk__in=posts.exclude(classroom=None).values("classroom__site"))
    )


def visible_classrooms(user: User | AnonymousUser) -> QuerySet[Classroom]:
    """Return the classrooms that the person may look into today: a teacher's own, or all of a site."""
    own = _posts(user).filter(role=Role.TEACHER).values("classroom")
    return Classroom.objects.filter(Q(pk__in=own) | Q(site__in=visible_sites(user, *SITE_WIDE))).select_related("site")


def visible_children(user: User | AnonymousUser, day: date) -> QuerySet[Child]:
    """Return the children enrolled on that day in a classroom that the person may look into today."""
    enrolled = Enrolment.objects.on(day).filter(classroom__in=visible_classrooms(user))
    return Child.objects.filter(pk__in=enrolled.values("child"))
