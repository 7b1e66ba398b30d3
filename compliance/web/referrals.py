"""Referrals: questions that wait for licensed staff, and their signed answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.checks.food import reading
from compliance.checks.referrals import answer_referrals
from compliance.checks.standing import OnThePlan, on_the_plan
from compliance.models import Referral
from compliance.rules.values import Outcome
from compliance.web.labelwords import LabelPart, Pointer, label_parts
from compliance.web.place import sites_for
from compliance.web.referrals_form import AnswerForm
from compliance.web.signed_in import SignedInRequest
from menus.labels.concerning import concerning
from menus.labels.evidence import LEVEL_OF_KIND, Level
from menus.lexicon import lexicon_at
from menus.models import Label
from menus.substances.catalogue import Catalogue
from roster.models import Child, Role

ANSWERED_PER_PAGE = 30
UNREAD_KINDS = {kind.value for kind, level in LEVEL_OF_KIND.items() if level is Level.UNREAD}
"""Questions that arise because nobody knows what is in the food, and that a label would settle."""
USUAL_TERM = timedelta(days=365)


@dataclass(slots=True)
class Waiting:
    """One child of a question, and what they avoid that it is about."""

    child: Child
    needed_by: date
    substances: list[str] = field(default_factory=list)

    @property
    def avoided(self) -> str:
        """In words, by name."""
        return ", ".join(sorted(self.substances))


@dataclass(slots=True)
class Question:
    """One subject: the food, the words, and the children for whom the very same is asked."""

    first: Referral
    referrals: list[Referral] = field(default_factory=list)

    @property
    def children(self) -> list[Waiting]:
        """Each child once, the first to need the food first."""
        waiting: dict[int, Waiting] = {}
        for each in self.referrals:
            child = waiting.setdefault(each.child_id, Waiting(each.child, each.needed_by))
            child.substances.append(Catalogue.load().get(each.substance).name)
        return list(waiting.values())

    @property
    def hidden(self) -> str:
        """The names of the substances that the evidence speaks of."""
        return " and ".join(sorted(Catalogue.load().get(code).name for code in self.first.about))


@require_safe
def referrals(request: SignedInRequest) -> HttpResponse:
    """List the questions that wait, grouped by what they are about, the most pressing first. Four queries."""
    sites = sites_for(request, Role.LICENSED)
    waiting = Referral.objects.waiting().filter(site__in=sites).select_related("child", "site", "label__product")
    answered = (
        Referral.objects.exclude(answered_at=None)
        .filter(site__in=sites)
        .select_related("child", "answered_by")
        .order_by("-answered_at")
    )
    return render(
        request,
        "referrals/referrals.html",
        {
            "site": sites[0],
            "questions": _grouped(waiting),
            "answered": Paginator(answered, ANSWERED_PER_PAGE).get_page(request.GET.get("page")),
        },
    )


@require_http_methods(["GET", "POST"])
def referral(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one question with the label words in place, and take the answer for all the children whom it concerns."""
    sites = sites_for(request, Role.LICENSED)
    seen = Referral.objects.filter(site__in=sites)
    shown = get_object_or_404(
        seen.select_related("child", "site", "label__product", "answered_by", "restriction"), pk=pk
    )
    # About the very same substances: nobody signs for a child what this page does not name.
    same = seen.waiting().filter(site=shown.site, subject=shown.subject, about=shown.about).select_related("child")
    form = AnswerForm(
        request,
        open_referrals=same,
        can_allow=shown.can_be_allowed,
        initial=_initial(shown, all_of=same if "all" in request.GET else None),
    )
    if request.method == "POST" and form.is_valid() and (answered := _answer(request, form)):
        messages.success(
            request, f"Signed and kept, for {len(answered)} {'child' if len(answered) == 1 else 'children'}."
        )
        return redirect("referrals")
    return render(
        request,
        "referrals/referral.html",
        {
            "referral": shown,
            "site": shown.site,
            "substance": Catalogue.load().get(shown.substance).name,
            "parts": _words_in_place(shown),
            "form": form,
            "newer": _newer_label(shown),
            "kitchen_first": shown.kind in UNREAD_KINDS,
            "on_the_plan": _on_the_plan(shown),
        },
    )


def _newer_label(shown: Referral) -> Label | None:
    """The product's newest label, when it is not the one that raised the question."""
    if shown.label is None or shown.is_standing:
        return None
    newer = Label.objects.filter(product=shown.label.product_id, number__gt=shown.label.number)
    return newer.order_by("-number").first()


def _on_the_plan(shown: Referral) -> OnThePlan | None:
    """Where a question that no label settles bears on the coming days; five queries."""
    if not shown.is_standing or shown.answered_at:
        return None
    today = timezone.now().astimezone(shown.site.zone).date()
    return on_the_plan(shown, today, today + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1))


def _answer(request: SignedInRequest, form: AnswerForm) -> list[Referral]:
    asked = form.cleaned_data
    try:
        return answer_referrals(
            referrals=asked["referrals"],
            user=request.user,
            answer=asked["answer"],
            note=asked["note"],
            ends_on=asked["ends_on"],
            signature=asked["signature"],
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return []


def _initial(shown: Referral, all_of: QuerySet[Referral] | None) -> dict[str, Any]:
    """Only the child asked about is ticked, until somebody asks for all."""
    ticked = [shown.pk] if all_of is None else [each.pk for each in all_of]
    return {"referrals": ticked, "ends_on": timezone.now().astimezone(shown.site.zone).date() + USUAL_TERM}


def _grouped(waiting: QuerySet[Referral]) -> list[Question]:
    groups: dict[tuple[int, str, tuple[str, ...]], Question] = {}
    for each in waiting:
        groups.setdefault((each.site_id, each.subject, tuple(each.about)), Question(each)).referrals.append(each)
    return list(groups.values())


def _words_in_place(shown: Referral) -> list[LabelPart]:
    """The label that raised the question, with the words that say it marked."""
    if shown.label is None:
        return []
    said = reading(shown.label, lexicon=lexicon_at(timezone.now()), site=shown.site).evidence
    pointers = [
        Pointer(piece.span.part, piece.span.start, piece.span.end, Outcome.REFER)
        for piece in concerning(shown.substance, said, Catalogue.load())
        if piece.span and piece.kind == shown.kind and piece.substance in shown.about
        if shown.term in ("", piece.term)
    ]
    return label_parts(shown.label, pointers)


urls = [
    path("referrals/", referrals, name="referrals"),
    path("referrals/<int:pk>/", referral, name="referral"),
]
