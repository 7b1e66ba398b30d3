"""Template tags of the pages: `{% load web %}`."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any

from django import template
from django.conf import settings
from django.urls import reverse
from django.utils.translation import get_language, gettext, gettext_noop

from compliance.demo.files import rows
from compliance.rules.register import RULES
from compliance.rules.values import Outcome
from compliance.web.cautions import CAUTIONS
from compliance.web.familywords import for_family, named_in
from menus.kitchen.cleaning import method_names
from menus.mealpattern.patterns.sentences import shown
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.kinds.spanish import name_in
from roster.models import Child, GuardianEntry, Restriction

register = template.Library()

TITLES = {kind.value: rule.title for rule in RULES for kind in rule.kinds}
BY_CODE = {outcome.code: outcome for outcome in Outcome}


@register.inclusion_tag("partials/caution.html")
def caution(*names: str) -> dict[str, Any]:
    """Show the cautions of these names (compliance/web/cautions.py); an empty one is left out."""
    name = gettext_noop("Sample data") if names == ("demo",) else gettext_noop("Caution")
    return {"sentences": [gettext(CAUTIONS[each]) for each in names if each], "name": gettext(name)}


@register.inclusion_tag("partials/outcome.html")
def outcome(value: Outcome | int | str, count: int | None = None) -> dict[str, Any]:
    """Show an outcome, its number or its code in words and shape, with a count when one is given."""
    known = BY_CODE[value] if isinstance(value, str) else Outcome(value)
    return {"code": known.code, "words": gettext(known.words), "count": count}


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


@register.simple_tag(takes_context=True)
def emergency_address(context: template.RequestContext) -> str:
    """Return where the bar leads in an emergency: on a page about one child to that child's papers, for who may."""
    about = context.get("child")
    if isinstance(about, Child) and about.pk and context["page"].reads_pointers:
        return reverse("child-emergency", args=[about.pk])
    return reverse("emergency")


@register.inclusion_tag("emergency/link.html", takes_context=True)
def emergency_link(context: template.RequestContext, child: int, name: str) -> dict[str, Any]:
    """Show the way from a child's line in a list to that child's papers, for who may read where they are."""
    return {"child": child, "name": name} if context["page"].reads_pointers else {}


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
    """Return a substance as people say it, in the language of the page where there is a name in it."""
    return name_in(get_language() or "", "substance", code, Catalogue.load().get(code).name)


@register.filter(name="for_family")
def family_words(version: Restriction) -> str:
    """Return what a restriction keeps away as the family reads it."""
    return for_family(version)


@register.filter(name="named_in")
def family_named(entry: GuardianEntry) -> list[str]:
    """Return what a guardian's form keeps away, piece by piece, as the family reads it."""
    return named_in(entry)


@register.filter
def figure(value: Fraction) -> str:
    """Return an amount as people write it, to the thousandth."""
    return shown(value)


@register.filter
def kind_title(kind: str) -> str:
    """Return what a kind of evidence is called: the title of the rule that judges it."""
    return TITLES.get(kind, kind)
