"""Write an invented district into an empty database."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils import timezone

from compliance.benchmarks.problem import CannotMeasure
from compliance.benchmarks.world.children import load_children
from compliance.benchmarks.world.food import load_food
from compliance.benchmarks.world.menus import load_menus, load_sites
from compliance.benchmarks.world.size import Size
from compliance.checks.load import LOOK_BACK
from menus.models import Label, RecipeVersion, Serving, Site
from roster.models import Child, Restriction


class NotEmpty(CannotMeasure):
    """The database holds sites: a benchmark writes into an empty one only."""


def require_empty() -> None:
    """Raise NotEmpty where the database holds sites."""
    if Site.objects.exists():
        raise NotEmpty("This database holds sites. A benchmark writes invented ones into an empty database only.")


def load_world(size: Size) -> dict[str, Any]:
    """Write the district, as if its menus were planned until the end of the window, and count what was written.

    Rows are written in bulk and past the services: there is no record of actions of them. Raises NotEmpty.
    """
    require_empty()
    now = timezone.now()
    today, recorded_at = now.date(), now - timedelta(days=1)
    # The day before, too: at midnight in UTC a site's clock still shows it.
    first = today - LOOK_BACK - timedelta(days=1)
    last = today + timedelta(days=settings.NIGHTLY_WINDOW_DAYS)
    sites = load_sites(size.sites)
    book = load_food(sites, today=today, recorded_at=recorded_at)
    load_menus(sites, book, dishes=size.dishes, first=first, last=last)
    load_children(sites, size, today=today, recorded_at=recorded_at)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # what a database in use does by itself; without it, it plans for empty tables
    return counted()


def counted() -> dict[str, Any]:
    """Return how much of everything there is."""
    return {
        "sites": Site.objects.count(),
        "children": Child.objects.count(),
        "restricted": Restriction.objects.values("child").distinct().count(),
        "restrictions": Restriction.objects.count(),
        "recipes": RecipeVersion.objects.count(),
        "labels": Label.objects.count(),
        "servings": Serving.objects.count(),
    }
