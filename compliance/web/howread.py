"""How a label was read: its list as it nests, the rows of the lexicon behind each word, and what it all says."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.food import reading
from compliance.checks.words import newest_proposals
from compliance.web.howread_page import Page, name, names
from compliance.web.labelwords import TITLES
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from menus.labels.evidence import ANY
from menus.labels.explained import Said, explained
from menus.lexicon import lexicon_at
from menus.models import Label, Product
from menus.substances.catalogue import Catalogue


@require_safe
def label_how(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show how one label version is read now."""
    sites = sites_for(request)
    label = get_object_or_404(
        Label.objects.filter(product__in=Product.objects.used_at(sites)).select_related("product"), pk=pk
    )
    told = explained(reading(label, lexicon=lexicon_at(timezone.now()), site=sites[0]))
    strange = (each.span for part in told.parts for line in part.lines for each in line.strange)
    page = Page(newest_proposals(strange))
    return render(
        request,
        "howread/howread.html",
        {
            "label": label,
            "product": label.product,
            "site": sites[0],
            "parts": [(TITLES[part.part], [page.line(line) for line in part.lines]) for part in told.parts],
            "sums": [page.sum(one) for one in sorted(told.said, key=_order)],
            "claims": [(claim.span.words, names(claim.substances)) for claim in told.claims],
            "sources": page.sources,
        },
    )


def _order(one: Said) -> tuple[int, bool, str]:
    """The gravest first, and what the law counts among the allergens before all else."""
    is_group = one.substance != ANY and Catalogue.load().get(one.substance).kind == "group"
    return (-one.level, not is_group, name(one.substance))


urls = [path("labels/<int:pk>/how/", label_how, name="label-how")]
