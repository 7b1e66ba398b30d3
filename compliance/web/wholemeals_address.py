"""The day that an address of the meal pages names, and back."""

from __future__ import annotations

from datetime import date, timedelta

from django.urls import reverse
from django.utils.dateparse import parse_date
from django.utils.http import urlencode

from compliance.models.mealjob import MOST_WEEKS
from compliance.web.place import Place
from compliance.web.signed_in import SignedInRequest

AHEAD = timedelta(weeks=MOST_WEEKS + 1)
"""How far from today a day may lie: labels, menus and class lists change."""


def asked_day(request: SignedInRequest, place: Place) -> date:
    """The day in the address; today for one that lies too far off, or is none."""
    try:
        asked = parse_date(request.GET.get("day", ""))
    except ValueError:
        asked = None
    return asked if asked and abs(asked - place.today) <= AHEAD else place.today


def day_address(place: Place, day: date) -> str:
    """Return where the meals of that day are shown."""
    return f"{reverse('whole-meals')}?{urlencode({'site': place.site.code, 'day': day.isoformat()})}"


def weeks_address(place: Place) -> str:
    """Return where the weeks are shown that were asked for last."""
    return f"{reverse('whole-meals-weeks')}?{urlencode({'site': place.site.code})}"
