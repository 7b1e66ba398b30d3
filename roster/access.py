"""Who may see what, said once. Every page, API view and export asks here."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from django.contrib.auth.models import AnonymousUser
from django.db.models import Q, QuerySet
from django.utils import timezone

from menus.models import Site
from roster.models import Child, Classroom, Enrolment, Post, Role, User

SITE_WIDE = (Role.KITCHEN, Role.LICENSED, Role.ADMINISTRATOR)


def _posts(user: User | AnonymousUser) -> list[Post]:
    """Return the posts that the person holds now: today is the day on the clock of the post's site. One query."""
    if not user.is_authenticated or not user.is_active:
        return []
    now = timezone.now()
    posts = Post.objects.filter(user_id=user.pk).select_related("site", "classroom__site")
    return [post for post in posts if post.is_held_on(now.astimezone(post.zone).date())]


def roles(user: User | AnonymousUser, site: Site | None = None) -> set[Role]:
    """Return the roles that the person holds today, at that site or at any. One query."""
    return {Role(post.role) for post in _posts(user) if site is None or post.is_at(site)}


def has_role(user: User | AnonymousUser, *wanted: Role, site: Site | None = None) -> bool:
    """Tell whether the person holds one of the roles today, at that site or at any. One query."""
    return not roles(user, site).isdisjoint(wanted)


def visible_sites(user: User | AnonymousUser, *wanted: Role) -> QuerySet[Site]:
    """Return the sites where the person holds one of the roles today (none named: any role)."""
    posts = [post for post in _posts(user) if not wanted or post.role in wanted]
    if any(post.is_everywhere for post in posts):
        return Site.objects.all()
    return Site.objects.filter(pk__in={post.place.pk for post in posts if post.place})


def visible_classrooms(user: User | AnonymousUser) -> QuerySet[Classroom]:
    """Return the classrooms that the person may look into today: a teacher's own, or all of a site."""
    posts = _posts(user)
    wide = [post for post in posts if post.role in SITE_WIDE]
    classrooms = Classroom.objects.select_related("site")
    if any(post.is_everywhere for post in wide):
        return classrooms
    own = {post.classroom_id for post in posts if post.role == Role.TEACHER}
    return classrooms.filter(Q(pk__in=own) | Q(site__in={post.site_id for post in wide}))


def visible_children(user: User | AnonymousUser, day: date) -> QuerySet[Child]:
    """Return the children enrolled on that day in a classroom that the person may look into today."""
    enrolled = Enrolment.objects.on(day).filter(classroom__in=visible_classrooms(user))
    return Child.objects.filter(pk__in=enrolled.values("child"))


def children_in_care(user: User | AnonymousUser, *wanted: Role) -> QuerySet[Child]:
    """Return the children enrolled, today or later, at a site where the person holds one of the roles. Two queries."""
    return _enrolled_from_now(classrooms=Q(classroom__site__in=list(visible_sites(user, *wanted))))


def children_to_report(user: User | AnonymousUser) -> QuerySet[Child]:
    """Return the children for whom the person may write down what somebody reports: it adds protection, no more."""
    posts = _posts(user)
    wide = [post for post in posts if post.role in (Role.LICENSED, Role.ADMINISTRATOR)]
    if any(post.is_everywhere for post in wide):
        return _enrolled_from_now(classrooms=Q())
    taught = {post.classroom_id for post in posts if post.role == Role.TEACHER}
    return _enrolled_from_now(
        classrooms=Q(classroom__in=taught) | Q(classroom__site__in={post.site_id for post in wide})
    )


def is_licensed_for(user: User | AnonymousUser, child: Child) -> bool:
    """Tell whether the person is licensed staff of a site at which the child is enrolled, today or later."""
    return children_in_care(user, Role.LICENSED).filter(pk=child.pk).exists()


def _enrolled_from_now(classrooms: Q) -> QuerySet[Child]:
    """The day is the one on each site's own clock. One query."""
    now, sites_by_day = timezone.now(), defaultdict[date, list[int]](list)
    for site in Site.objects.all():
        sites_by_day[now.astimezone(site.zone).date()].append(site.pk)
    still = Q(ends_on=None)
    for day, sites in sites_by_day.items():
        still |= Q(classroom__site__in=sites, ends_on__gte=day)
    return Child.objects.filter(pk__in=Enrolment.objects.filter(classrooms, still).order_by().values("child"))
