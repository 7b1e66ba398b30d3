"""The language of the pages for guardians: English or Spanish, as they choose, or else as their browser asks."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate

from django.http import HttpRequest, HttpResponseBase
from django.utils import translation
from django.utils.translation import gettext_noop

from compliance.web.signed_in import SignedInRequest
from roster.kinds.spanish import SPANISH

ENGLISH = "en"
LANGUAGES = {ENGLISH: "English", SPANISH: "Español"}
"""Each by its own name, so that whoever reads it finds theirs."""
KEPT = "language"
TURN = "turn"
"""What the buttons of a form are called that turn it into another language, with all that was typed."""

SAID_ELSEWHERE = (
    gettext_noop("withhold"),  # outcomes: compliance.rules is free of Django
    gettext_noop("refer"),
    gettext_noop("Breakfast"),  # meals
    gettext_noop("Lunch"),
    gettext_noop("Snack"),
    gettext_noop("Supper"),
    gettext_noop("School lunch, breakfast and snacks (NSLP, SBP)"),  # programs
    gettext_noop("Child care (CACFP)"),
    gettext_noop("Your password, once more"),  # signing
    gettext_noop("A code from your app"),
    gettext_noop("Your password, or a code from your app"),
    gettext_noop("No meat together with milk in one meal."),  # what people see to
    gettext_noop("No meat slaughtered by ritual."),
    gettext_noop(
        "No milk to drink: the family asks for another drink. Licensed staff are asked; do not serve it until then."
    ),
    # scans
    gettext_noop("This file is larger than %(most)s MB. Scan the statement in grey at 200 to 300 dots per inch."),
    gettext_noop("This file is no PDF, JPEG or PNG, whatever its name says. Scan or photograph the statement anew."),
    gettext_noop("This PDF was cut off on its way: its end is missing. Send it again, or scan the statement anew."),
    gettext_noop(
        "This PDF holds a program or another file beside its pages. Print it and scan the paper, or photograph it."
    ),
    gettext_noop(
        "This picture cannot be kept: it is damaged, moving, or too small or too large to be read as a page. "
        "Photograph the whole statement again, upright and sharp."
    ),
)
"""Sentences of modules that know no translation and that guardians read: marked here, so that they are translated."""


def language_of(request: SignedInRequest) -> str:
    """Return the language that the form is turned into, else the one asked for by `?language=`, else the one last asked
    for, else the browser's, else English.
    """
    asked = request.POST[TURN] if is_turned(request) else request.GET.get("language", "")
    if asked in LANGUAGES:
        request.session[KEPT] = asked
    kept = request.session.get(KEPT) or translation.get_language_from_request(request)[:2]
    return kept if kept in LANGUAGES else ENGLISH


def is_turned(request: HttpRequest) -> bool:
    """Tell whether a form was sent only to be shown in another language: then nothing of it is tried or kept."""
    return request.POST.get(TURN) in LANGUAGES


def in_own_language(
    view: Callable[Concatenate[SignedInRequest, ...], HttpResponseBase],
) -> Callable[Concatenate[SignedInRequest, ...], HttpResponseBase]:
    """Answer in the language of who asks: our sentences, Django's own, and the names of days."""

    @wraps(view)
    def answered(request: SignedInRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        with translation.override(language_of(request)):
            return view(request, *args, **kwargs)

    return answered
