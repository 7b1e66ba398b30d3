"""The settings of a site, for its administrator."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from compliance.web.place import place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.site_form import SiteForm, zones
from compliance.web.stale import Stale, opened_on, side
from menus.models import Site
from menus.services.sites import StaleSite, change_site, version_of
from roster.emergency.numbers import number_in


@require_http_methods(["GET", "POST"])
def site_settings(request: SignedInRequest) -> HttpResponse:
    """Show the settings and take others; those that somebody saved meanwhile are shown first."""
    place = place_of(request)
    opened, stale = version_of(place.site), None
    country, number = place.site.country_code, number_in(place.site.country_code)
    form = SiteForm(request.POST if request.method == "POST" else None, site=place.site)
    if request.method == "POST":
        opened = opened_on(request) or 0
        if form.is_valid():
            try:
                saved = change_site(site=place.site, after=opened, **form.said())
            except StaleSite as error:
                stale, opened = _two_versions(error, form), version_of(error.newer)
            except ValidationError as error:
                form.add_error(None, ValidationError(error.messages))
            else:
                messages.success(request, _told(saved))
                return redirect(f"{reverse('site-settings')}?site={saved.code}")
    context = {
        "place": place,
        "site": place.site,
        "form": form,
        "zones": zones(),
        "opened": opened,
        "stale": stale,
        "country": country,
        "number": number,
    }
    return render(request, "site/site.html", context)


def _two_versions(error: StaleSite, form: SiteForm) -> Stale:
    return Stale(
        f"{error.messages[0]} What you chose is still below; save it again if it is right.",
        side("On record now", form.parts(error.newer, form.instance)),
        side("What you chose", form.parts(form.instance, error.newer)),
    )


def _told(site: Site) -> str:
    number = number_in(site.country_code)
    dial = f"The emergency number there is {number.number}." if number else "No emergency number is known for it."
    return f"Saved for {site}. {dial}"


urls = [path("site/", site_settings, name="site-settings")]
