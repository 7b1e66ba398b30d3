"""Search the record of actions, within the chains that somebody may read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

from django.db.models import QuerySet

from menus.models import Site
from roster.access import posts, visible_sites
from roster.models import Action, User
from roster.permits import Act, Permit, Thing

NO_SITE = 0
"""The chain of what belongs to no one site."""


@dataclass(frozen=True, slots=True)
class Search:
    """What is looked for; an empty field means any. Days are both included, by the clock of `zone`.

    People and children are asked for by their ids: the search stands in an address, and that must not name them.
    """

    first: date
    last: date
    zone: tzinfo
    chain: int | None = None
    verb: str = ""
    person: int | None = None
    child: int | None = None
    subject: str = ""


def readable_chains(user: User) -> dict[int, Site | None]:
    """Return the chains that the person may read, with the site of each. Two queries.

    Who reads the record of every site reads what belongs to no one site as well: words, accounts, shared products.
    """
    permit = Permit(Thing.RECORD, Act.READ)
    chains: dict[int, Site | None] = {site.pk: site for site in visible_sites(user, permit)}
    if any(post.is_everywhere for post in posts(user, permit)):
        chains[NO_SITE] = None
    return chains


def people_in(chains: Collection[int]) -> QuerySet[User]:
    """Return those who did something in the chains. One query to read them."""
    acted = Action.objects.filter(chain__in=chains).exclude(actor=None).order_by().values("actor").distinct()
    return User.objects.filter(pk__in=acted).order_by("last_name", "first_name", "username")


def found_actions(search: Search, chains: dict[int, Site | None]) -> QuerySet[Action]:
    """Return the entries that fit, the newest first."""
    begin = datetime.combine(search.first, time.min, search.zone)
    end = datetime.combine(search.last + timedelta(days=1), time.min, search.zone)
    wanted = [search.chain] if search.chain in chains else list(chains)
    rows = Action.objects.filter(chain__in=wanted, recorded_at__gte=begin, recorded_at__lt=end)
    if search.verb:
        rows = rows.filter(verb=search.verb)
    if search.subject:
        rows = rows.filter(subject__icontains=search.subject)
    if search.person:
        rows = rows.filter(actor=search.person)
    if search.child:
        rows = rows.filter(child=search.child)
    return rows.select_related("actor", "site").order_by("-recorded_at", "-chain", "-number")
