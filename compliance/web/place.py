"""Which site a page is about, among those where the person may come to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import Http404
from django.utils import timezone

from compliance.web.gates import permit_of
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import visible_sites


@dataclass(frozen=True, slots=True)
class Place:
    """The site of a page, and the others that the person may turn to."""

    site: Site
    sites: tuple[Site, ...]

    @property
    def today(self) -> date:
        """The date there."""
        return timezone.now().astimezone(self.site.zone).date()


def sites_for(request: SignedInRequest) -> tuple[Site, ...]:
    """Return the sites where the person may come to this page; 404 when there is none. Two queries."""
    sites = tuple(visible_sites(request.user, permit_of(request)))
    if not sites:
        raise Http404("You hold no post for which this page is meant.")
    return sites


def place_of(request: SignedInRequest) -> Place:
    """Return the site named by `?site=`, else the one last looked at, else the first. 404 for a site not theirs."""
    sites = sites_for(request)
    by_code = {site.code: site for site in sites}
    asked = request.GET.get("site", "")
    if asked and asked not in by_code:
        raise Http404("This site is not yours to see.")
    if asked and asked != request.session.get("site"):
        request.session["site"] = asked
    chosen = by_code.get(asked or request.session.get("site", ""), sites[0])
    return Place(chosen, sites)
