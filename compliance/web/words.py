"""Words proposed for the lexicon: the list of them, and proposing one from a label."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.checks.words import labels_holding
from compliance.web.labelwords import label_parts
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.words_form import ProposalForm
from compliance.web.words_shown import meant, pointers, whole
from menus.labels.lexicon import words_of
from menus.models import Label, Product, Word
from menus.services.words import propose_word

ANSWERED_PER_PAGE = 30


@require_safe
def words(request: SignedInRequest) -> HttpResponse:
    """List the words that wait for licensed staff, those that count, and what became of the others."""
    sites = sites_for(request)
    seen = whole(Word.objects.visible_at(sites))
    waiting = list(seen.waiting().order_by("recorded_at", "pk"))
    answered = Paginator(seen.exclude(review=None).order_by("-review__recorded_at"), ANSWERED_PER_PAGE)
    return render(
        request,
        "words/words.html",
        {
            "site": sites[0],
            "waiting": [(word, meant(word), count) for word, count in _counted(waiting)],
            "answered": answered.get_page(request.GET.get("page")),
        },
    )


@require_http_methods(["GET", "POST"])
def word_new(request: SignedInRequest, pk: int) -> HttpResponse:
    """Propose a word of the label for the lexicon: what it is, how one knows, where one looked."""
    sites = sites_for(request)
    label = get_object_or_404(
        Label.objects.filter(product__in=Product.objects.used_at(sites)).select_related("product"), pk=pk
    )
    asked = request.GET.get("word", "")[:80]
    if request.method == "GET" and (waits := Word.objects.visible_at(sites).waiting().of_phrase(asked).first()):
        return redirect("word", pk=waits.pk)
    form = ProposalForm(request.POST or None, initial={"phrase": asked})
    if request.method == "POST" and form.is_valid() and (made := _propose(request, label, form)):
        messages.success(
            request, f"{made} waits for licensed staff. Until they have answered, it stays unread and changes nothing."
        )
        return redirect("label", pk=label.pk)
    phrase = form["phrase"].value() or ""
    shown = {
        "form": form,
        "label": label,
        "site": sites[0],
        "parts": label_parts(label, pointers(label, words_of(phrase))),
    }
    return render(request, "words/new.html", shown)


def _counted(waiting: list[Word]) -> list[tuple[Word, int]]:
    held = labels_holding(waiting, timezone.now())
    return [(word, held[word.key]) for word in waiting]


def _propose(request: SignedInRequest, label: Label, form: ProposalForm) -> Word | None:
    asked = form.cleaned_data
    try:
        return propose_word(
            label=label,
            phrase=asked["phrase"],
            sense=asked["sense"],
            substances=form.substances,
            reason=asked["reason"],
            looked_up=asked["looked_up"],
            proposed_by=request.user,
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None


urls = [
    path("words/", words, name="words"),
    path("labels/<int:pk>/words/new/", word_new, name="word-new"),
]
