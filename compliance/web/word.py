"""One proposed word: the label's words in place, and licensed staff's signed answers."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.words import labels_holding
from compliance.web.labelwords import LabelPart, label_parts
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.words_form import ReviewForm, WithdrawalForm, told
from compliance.web.words_shown import meant, pointers, whole
from menus.labels.doubts import doubts
from menus.lexicon import lexicon_at
from menus.models import Product, Site, Word
from menus.services.words import review_word, withdraw_word
from roster.access import may
from roster.permits import Act, Thing

Sites = tuple[Site, ...]


@require_safe
def word(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show a proposal with the label's words in place; licensed staff find the form for their answer there."""
    sites = sites_for(request)
    return _page(request, _word(sites, pk), sites)


@require_POST
def word_review(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take licensed staff's signed answer to a proposal."""
    sites = sites_for(request)
    shown = _word(sites, pk)
    form = _review_form(request, shown)
    if form.is_valid() and _review(request, shown, form):
        return redirect("words")
    return _page(request, shown, sites, review=form)


@require_POST
def word_withdraw(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take back an accepted word."""
    sites = sites_for(request)
    shown = _word(sites, pk)
    form = WithdrawalForm(request)
    if form.is_valid():
        typed = {name: form.cleaned_data[name] for name in ("reason", "signature")}
        try:
            withdraw_word(word=shown, withdrawn_by=request.user, **typed)
        except ValidationError as error:
            form.add_error(None, ValidationError(error.messages))
        else:
            messages.success(request, f"{shown} is unread again from now on. Menus are checked again.")
            return redirect("words")
    return _page(request, shown, sites, withdrawal=form)


def _word(sites: Sites, pk: int) -> Word:
    return get_object_or_404(whole(Word.objects.visible_at(sites)), pk=pk)


def _page(
    request: SignedInRequest,
    shown: Word,
    sites: Sites,
    *,
    review: ReviewForm | None = None,
    withdrawal: WithdrawalForm | None = None,
) -> HttpResponse:
    may_answer = may(request.user, Thing.WORD, Act.SIGN)
    return render(
        request,
        "words/word.html",
        {
            "word": shown,
            "site": sites[0],
            "meant": meant(shown),
            "accepted_as": meant(shown.outcome) if shown.outcome and shown.outcome.accepted else "",
            "earlier": whole(Word.objects.filter(key=shown.key)).exclude(pk=shown.pk),
            "parts": _words_in_place(shown, sites),
            "held": labels_holding([shown], timezone.now())[shown.key],
            "review": review or (_review_form(request, shown) if may_answer and shown.state == "waiting" else None),
            "withdrawal": withdrawal or (WithdrawalForm(request) if may_answer and shown.state == "accepted" else None),
        },
    )


def _words_in_place(shown: Word, sites: Sites) -> list[LabelPart]:
    """The label with the word marked; nothing where the product is another site's, and only the word counts here."""
    if not Product.objects.used_at(sites).filter(pk=shown.label.product_id).exists():
        return []
    return label_parts(shown.label, pointers(shown.label, tuple(shown.key.split())))


def _review_form(request: SignedInRequest, shown: Word) -> ReviewForm:
    found = doubts(shown.phrase, lexicon_at(timezone.now()))
    initial = {**told(shown.sense, shown.codes), "source": shown.looked_up}
    return ReviewForm(request, initial=initial, doubts=found)


def _review(request: SignedInRequest, shown: Word, form: ReviewForm) -> bool:
    asked = form.cleaned_data
    accepted = asked["answer"] == "accept"
    try:
        review_word(
            word=shown,
            accepted=accepted,
            sense=asked["sense"] if accepted else "",
            substances=form.substances if accepted else (),
            source=asked["source"] if accepted else "",
            note=asked["note"],
            seen=asked["seen"],
            reviewed_by=request.user,
            signature=asked["signature"],
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return False
    kept = "counts from now on. Menus are checked again." if accepted else "is declined and stays unread."
    messages.success(request, f"Signed and kept: {shown} {kept}")
    return True


urls = [
    path("words/<int:pk>/", word, name="word"),
    path("words/<int:pk>/review/", word_review, name="word-review"),
    path("words/<int:pk>/withdraw/", word_withdraw, name="word-withdraw"),
]
