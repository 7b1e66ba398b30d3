"""Whose rows somebody may see, said once. Every page, API view and export asks here."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from django.contrib.auth.models import AnonymousUser
from django.db.models import Q, QuerySet
from django.utils import timezone

from menus.models import Site
from roster.models import Child, Classroom, Enrolment, Post, Role, User
from roster.permits import Act, Permit, Thing, holds
from roster.reach import Reach


def posts(user: User | AnonymousUser, permit: Permit | None = None) -> list[Post]:
    """Return the posts that the person holds now, or those of them that bring the permit. One query.

    Today is the day on the clock of the post's site.
    """
    if not user.is_authenticated or not user.is_active:
        return []
    now = timezone.now()
    all_posts = Post.objects.filter(user_id=user.pk).select_related("site", "classroom__site")
    held = [post for post in all_posts if post.is_held_on(now.astimezone(post.zone).date())]
    return held if permit is None else [post for post in held if holds(post, permit)]


def roles(user: User | AnonymousUser) -> set[Role]:
    """Return the roles that the person holds today. One query."""
    return {Role(post.role) for post in posts(user)}


def may(user: User | AnonymousUser, thing: Thing, act: Act, *, site: Site | None = None) -> bool:
    """Tell whether the person may do that with the thing today, at that site or at any. One query."""
    return any(site is None or post.is_at(site) for post in posts(user, Permit(thing, act)))


def visible_sites(user: User | AnonymousUser, permit: Permit | None = None) -> QuerySet[Site]:
    """Return the sites where the person holds the permit today (without one: any post at all)."""
    held = posts(user, permit)
    if any(post.is_everywhere for post in held):
        return Site.objects.all()
    return Site.objects.filter(pk__in={post.place.pk for post in held if post.place})


def reach(user: User | AnonymousUser) -> Reach:
    """Return into which classrooms the person's posts reach today. One query."""
    return Reach(posts(user))


def visible_classrooms(user: User | AnonymousUser) -> QuerySet[Classroom]:
    """Return the classrooms that the person may look into today: a teacher's own, or all of a site."""
    return reach(user).classrooms


def visible_children(user: User | AnonymousUser, day: date) -> QuerySet[Child]:
    """Return the children enrolled on that day in a classroom that the person may look into today."""
    enrolled = Enrolment.objects.on(day).filter(classroom__in=visible_classrooms(user))
    return Child.objects.filter(pk__in=enrolled.values("child"))


def children_with(user: User | AnonymousUser, thing: Thing, act: Act) -> QuerySet[Child]:
    """Return the children, enrolled today or later, with whose thing the person may do that. Two queries.

    A post in a classroom reaches the children of that classroom, a guardian's its child, any other those of its site.
    """
    held = posts(user, Permit(thing, act))
    if any(post.is_everywhere for post in held):
        return _enrolled_from_now(classrooms=Q())
    own = Q(pk__in={post.child_id for post in held if post.child_id})
    classrooms = {post.classroom_id for post in held if post.classroom_id}
    sites = {post.site_id for post in held if post.site_id}
    here = _enrolled_from_now(classrooms=Q(classroom__in=classrooms) | Q(classroom__site__in=sites))
    return Child.objects.filter(own | Q(pk__in=here.values("pk")))


def own_children(user: User | AnonymousUser) -> QuerySet[Child]:
    """Return the children whose guardian the person is today, enrolled or not. One query, and one to read them."""
    return Child.objects.filter(pk__in={post.child_id for post in posts(user, Permit(Thing.OWN_CHILD, Act.READ))})


def children_to_report(user: User | AnonymousUser) -> QuerySet[Child]:
    """Return the children for whom the person may write down what somebody reports: it adds protection, no more."""
    return children_with(user, Thing.REPORT, Act.ADD)


def is_licensed_for(user: User | AnonymousUser, child: Child) -> bool:
    """Tell whether the person may sign for the child: licensed staff of a site at which it is enrolled from now on."""
    return children_with(user, Thing.MEDICAL, Act.SIGN).filter(pk=child.pk).exists()


def _enrolled_from_now(classrooms: Q) -> QuerySet[Child]:
    """The day is the one on each site's own clock. One query."""
    now, sites_by_day = timezone.now(), defaultdict[date, list[int]](list)
    for site in Site.objects.all():
        sites_by_day[now.astimezone(site.zone).date()].append(site.pk)
    still = Q(ends_on=None)
    for day, sites in sites_by_day.items():
        still |= Q(classroom__site__in=sites, ends_on__gte=day)
    return Child.objects.filter(pk__in=Enrolment.objects.filter(classrooms, still).order_by().values("child"))
