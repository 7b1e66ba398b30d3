"""Who is responsible for sites, and can be reached by mail."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.db.models import Q, QuerySet

from menus.models import Site
from roster.models import Post, Role, User

RESPONSIBLE = (Role.ADMINISTRATOR, Role.LICENSED, Role.MANAGER, Role.KITCHEN)

Roles = dict[User, dict[int, list[Role]]]
"""People with their roles at each site, by its id, in the order of RESPONSIBLE."""


def responsible(days: Mapping[Site, date]) -> Roles:
    """Return who is responsible for each of the sites on its day and can be reached. One query for each day."""
    on: dict[date, list[int]] = {}
    for site, day in days.items():
        on.setdefault(day, []).append(site.pk)
    found: Roles = {}
    for day, sites in on.items():
        for post in sorted(_posts(sites, day), key=lambda post: RESPONSIBLE.index(Role(post.role))):
            for pk in [post.site_id] if post.site_id else sites:
                roles = found.setdefault(post.user, {}).setdefault(pk, [])
                if post.role not in roles:
                    roles.append(Role(post.role))
    return found


def reachable(site: Site, role: Role, day: date) -> list[User]:
    """Return who holds the role at the site on that day and can be reached, each once. One query."""
    return list(dict.fromkeys(post.user for post in _posts([site.pk], day) if post.role == role))


def _posts(sites: list[int], day: date) -> QuerySet[Post]:
    held = Post.objects.held_on(day).filter(Q(site__in=sites) | Q(site=None, classroom=None), role__in=RESPONSIBLE)
    return held.filter(user__is_active=True).exclude(user__email="").select_related("user").order_by("user__username")
