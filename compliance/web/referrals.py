"""Referrals: questions that wait for licensed staff, and their signed answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.timesince import timeuntil
from django.views.decorators.http import require_http_methods, require_safe

from compliance.checks.apart import side_words
from compliance.checks.food import reading
from compliance.checks.referrals import answer_referrals
from compliance.checks.schedule import last_looked_at
from compliance.checks.standing import OnThePlan, on_the_plan
from compliance.models import Referral, Step
from compliance.rules.values import Outcome
from compliance.web.labelwords import LabelPart, Pointer, label_parts
from compliance.web.numbers import row_numbers
from compliance.web.place import sites_for
from compliance.web.referrals_form import AnswerForm
from compliance.web.signed_in import SignedInRequest
from compliance.web.stale import Stale, side
from menus.labels.concerning import concerning
from menus.labels.evidence import LEVEL_OF_KIND, Kind, Level
from menus.lexicon import lexicon_at
from menus.models import Label
from menus.substances.catalogue import Catalogue
from roster.life.guardian import entries_in_care
from roster.models import Child

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
    now: datetime
    referrals: list[Referral] = field(default_factory=list)

    @property
    def passed(self) -> bool:
        """Whether the serving went by without an answer, so that the child was not to be served."""
        return self.first.passes_at <= self.now

    @property
    def left(self) -> str:
        """How long is left to answer it."""
        due_at = self.first.due_at
        return f"{timeuntil(due_at, self.now, depth=1)} left" if due_at > self.now else "needed today"

    @property
    def told(self) -> list[str]:
        """Who was told that it is still open."""
        steps = {each.step: each for each in self.first.escalations.all()}
        return [step.label.lower() for step in Step if step.value in steps and steps[step.value].told]

    @property
    def children(self) -> list[Waiting]:
        """Each child once, the first to need the food first."""
        waiting: dict[int, Waiting] = {}
        for each in self.referrals:
            child = waiting.setdefault(each.child_id, Waiting(each.child, each.needed_by))
            child.substances.append(each.avoided)
        return list(waiting.values())

    @property
    def hidden(self) -> str:
        """The names of the substances that the evidence speaks of."""
        return " and ".join(sorted(Catalogue.load().get(code).name for code in self.first.about))


@require_safe
def referrals(request: SignedInRequest) -> HttpResponse:
    """List the questions that wait, grouped by what they are about, the most pressing first. Six queries."""
    sites = sites_for(request)
    waiting = (
        Referral.objects.waiting().filter(site__in=sites).select_related("child", "site", "label__product", "texture")
    )
    questions = _grouped(waiting.prefetch_related("escalations"), timezone.now())
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
            "questions": [each for each in questions if not each.passed],
            "passed": [each for each in questions if each.passed],
            "from_guardians": entries_in_care(request.user).filter(answer=None).count(),
            "answered": Paginator(answered, ANSWERED_PER_PAGE).get_page(request.GET.get("page")),
        },
    )


@require_http_methods(["GET", "POST"])
def referral(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one question with the label words in place, and take the answer for all the children whom it concerns."""
    sites = sites_for(request)
    seen = Referral.objects.filter(site__in=sites)
    shown = get_object_or_404(
        seen.select_related("child", "site", "label__product", "answered_by", "restriction", "texture"), pk=pk
    )
    # About the very same substances: nobody signs for a child what this page does not name.
    same = seen.waiting().filter(site=shown.site, subject=shown.subject, about=shown.about)
    if shown.texture:
        same = same.filter(question=shown.question)  # nor at another level than the one named here
    form = AnswerForm(
        request,
        open_referrals=same.select_related("child", "texture"),
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
            "stale": _two_versions(request, seen, form) if request.method == "POST" else None,
            "referral": shown,
            "child": shown.child,
            "site": shown.site,
            "substance": shown.avoided,
            "parts": _words_in_place(shown),
            "form": form,
            "newer": _newer_label(shown),
            "kitchen_first": shown.kind in UNREAD_KINDS and shown.substance != "",
            "on_the_plan": _on_the_plan(shown),
            "waits": None if shown.answered_at else Question(shown, timezone.now()),
        },
    )


def _two_versions(request: SignedInRequest, seen: QuerySet[Referral], form: AnswerForm) -> Stale | None:
    """What was typed beside what somebody signed, or what fell away, since the page was opened."""
    ticked = row_numbers(request.POST.getlist("referrals"))
    closed = seen.filter(pk__in=ticked).exclude(answered_at=None, withdrawn_at=None)
    done = list(closed.select_related("child", "answered_by"))
    if not done:
        return None
    return Stale(
        "Nothing was saved: a question that you ticked was answered or fell away meanwhile. Look at both.",
        side("On record now", ((str(each.child), _became(each)) for each in done)),
        side("What you typed", ((str(form[name].label), _typed(form, name)) for name in ("answer", "note", "ends_on"))),
    )


def _became(referral: Referral) -> str:
    if referral.answered_at is None:
        return "The question fell away: the label, the menu or the restriction has changed."
    answer = f"{referral.get_answer_display()}, until {referral.answer_ends_on}. Signed {referral.signature}."
    return f"{answer} {referral.answer_note}".strip()


def _typed(form: AnswerForm, name: str) -> str:
    sent = str(form[name].value() or "")
    return str(dict(Referral.Answer.choices).get(sent, sent)) if name == "answer" else sent


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
    return on_the_plan(shown, today, last_looked_at(today))


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


def _grouped(waiting: QuerySet[Referral], now: datetime) -> list[Question]:
    groups: dict[tuple[int, str, tuple[str, ...], str], Question] = {}
    for each in waiting:
        key = (each.site_id, each.subject, tuple(each.about), each.question if each.texture_id else "")
        groups.setdefault(key, Question(each, now)).referrals.append(each)
    return list(groups.values())


def _words_in_place(shown: Referral) -> list[LabelPart]:
    """The label that raised the question, with the words that say it marked."""
    if shown.label is None or shown.texture:
        return []
    if shown.kind == Kind.SAME_MEAL:
        spans = [piece.span for piece in side_words(shown) if piece.span]
        return label_parts(shown.label, [Pointer(each.part, each.start, each.end, Outcome.REFER) for each in spans])
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
