"""The protein of what is eaten together, by PDCAAS: advice for licensed staff, never a rule and never an outcome."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.web.place import place_of
from compliance.web.protein_form import STANDARDS, ProteinForm
from compliance.web.signed_in import SignedInRequest
from menus.mealpattern.protein import Complement, Score, complement


@dataclass(frozen=True, slots=True)
class Line:
    """One food, or all of them together, as the page shows it."""

    name: str
    protein: str
    score: str
    limiting: str
    pdcaas: str


@require_safe
def protein(request: SignedInRequest) -> HttpResponse:
    """Work out score and PDCAAS of the foods that were chosen. Nothing is kept."""
    place = place_of(request)
    form = ProteinForm(request.GET)
    context = {"place": place, "site": place.site, "as_of": timezone.now(), "form": form}
    if "standard" not in request.GET:
        form.errors.clear()
    elif form.is_valid():
        parts = form.parts()
        found = complement(parts, form.reference())
        alone = zip([part for part in parts if part.protein_g > 0], found.alone, strict=True)
        context |= {
            "reference": found.together.reference,
            "standard": dict(STANDARDS)[found.together.reference.standard],
            "said": _said(found),
            "lines": [_line(part.name, part.protein_g, score) for part, score in alone],
            "together": _line("All together", sum(found.protein_g, Fraction(0)), found.together),
            "doubtful": found.together.doubtful,
        }
    return render(request, "protein/protein.html", context)


def _line(name: str, grams: Fraction, score: Score) -> Line:
    return Line(
        name=name,
        protein=f"{float(grams):.1f} g",
        score=_two(score.amino_acid_score) if score.amino_acid_score is not None else _at_most(score),
        limiting=_word(score.limiting or "not known"),
        pdcaas="not known" if score.pdcaas is None else _two(score.pdcaas),
    )


def _said(found: Complement) -> list[str]:
    """Return what the numbers say, in sentences."""
    together = found.together
    if together.complete is None:
        sentences = [f"Whether the protein is complete is not known: {_words(together.unknown)} not stated for a food."]
    elif together.complete:
        sentences = ["Taken together, each amino acid reaches the pattern, before digestion."]
    else:
        sentences = [f"Taken together, it lacks {_word(together.limiting or '')} most."]
    if len(found.alone) > 1:
        sentences.append(_helping(found))
    if together.pdcaas is None and together.digestibility is None:
        sentences.append("For one of the foods no table gives how much of its protein is digested.")
    return sentences


def _helping(found: Complement) -> str:
    if all(score.complete for score in found.alone):
        return "Each of the foods reaches it by itself."
    if found.helps is None:
        return "Whether the foods make up for each other is not known."
    if found.helps:
        return "The foods make up for each other: together they do better than each on its own."
    return "The foods do not make up for each other: together they come to the mean of their scores and no more."


def _at_most(score: Score) -> str:
    return "not known" if score.at_most is None else f"not above {_two(score.at_most)}"


def _two(value: Fraction) -> str:
    return f"{float(value):.2f}"


def _word(amino: str) -> str:
    return amino.replace("_", " with ")


def _words(aminos: tuple[str, ...]) -> str:
    return ", ".join(map(_word, aminos)) + (" is" if len(aminos) == 1 else " are")


urls = [path("meals/protein/", protein, name="protein")]
