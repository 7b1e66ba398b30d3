"""Of which sites somebody is told how the nights went."""

from __future__ import annotations

from dataclasses import dataclass

from menus.models import Site
from roster.access import posts, visible_sites
from roster.models import User
from roster.permits import Permit


@dataclass(frozen=True, slots=True)
class Scope:
    """The sites that one is told of, by id, and whether these are all there are."""

    sites: dict[int, Site]
    is_all: bool

    @classmethod
    def of(cls, user: User, permit: Permit) -> Scope:
        """Return the sites where the person holds the permit today. Three queries."""
        everywhere = any(post.is_everywhere for post in posts(user, permit))
        return cls({site.pk: site for site in visible_sites(user, permit)}, everywhere)

    @classmethod
    def everything(cls) -> Scope:
        """Return all sites: for who runs the service, at its terminal. One query."""
        return cls(Site.objects.in_bulk(), is_all=True)
