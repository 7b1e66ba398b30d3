"""Template tags of the pages: `{% load web %}`."""

from __future__ import annotations

from functools import cache
from typing import Any

from django import template
from django.conf import settings

from compliance.demo.files import rows
from compliance.rules.values import Outcome
from compliance.web.cautions import CAUTIONS
from menus.kitchen.cleaning import method_names
from menus.models import Site
from menus.substances.catalogue import Catalogue

register = template.Library()

BY_CODE = {outcome.code: outcome for outcome in Outcome}


@register.inclusion_tag("partials/caution.html")
def caution(*names: str) -> dict[str, Any]:
    """Show the cautions of these names (compliance/web/cautions.py)."""
    return {"sentences": [CAUTIONS[name] for name in names], "name": "Sample data" if names == ("demo",) else "Caution"}


@register.inclusion_tag("partials/outcome.html")
def outcome(value: Outcome | int | str, count: int | None = None) -> dict[str, Any]:
    """Show an outcome, its number or its code in words and shape, with a count when one is given."""
    known = BY_CODE[value] if isinstance(value, str) else Outcome(value)
    return {"code": known.code, "words": known.words, "count": count}


@register.inclusion_tag("partials/as_of.html", takes_context=True)
def as_of(context: template.RequestContext) -> dict[str, Any]:
    """Show the moment the page speaks of, in site time.

    The view gives `as_of` and `site`; without them it is this moment, at the person's first site.
    """
    page = context["page"]
    site = context.get("site")
    if not isinstance(site, Site):  # Django's own sign-in view gives a `site` of another kind
        site = page.site
    return {
        "moment": context.get("as_of") or page.now,
        "zone": site.time_zone if site else settings.TIME_ZONE,
        "place": site.name if site else "",
        "demo": site is not None and site.code in demo_codes(),
    }


@cache
def demo_codes() -> frozenset[str]:
    """The sites of the demo school, whose pages say that nothing on them is real."""
    return frozenset(row["code"] for row in rows("sites.csv"))


@register.inclusion_tag("partials/caution.html")
def demo_caution(site: Site) -> dict[str, Any]:
    """Say that nothing is real, on a page about a site of the demo school that does not say so by `as_of`."""
    return caution("demo") if site.code in demo_codes() else {}


@register.inclusion_tag("partials/label_words.html")
def label_words(parts: list[Any]) -> dict[str, Any]:
    """Show label text with the words that findings point at (compliance/web/labelwords.py: label_parts)."""
    return {"parts": parts}


@register.filter
def method_name(code: str) -> str:
    """Return a cleaning method as people say it."""
    return method_names().get(code, code)


@register.filter
def substance_name(code: str) -> str:
    """Return a substance as people say it."""
    return Catalogue.load().get(code).name
