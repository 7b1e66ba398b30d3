"""The answer to a treat check, as given: children by outcome, the label's words, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.answers import Answers, answers_since
from compliance.checks.reasons import OUTCOME_OF_CODE, Reason, stored_reasons
from compliance.checks.seen_to import seen_to_at
from compliance.checks.texturesaid import texture_says
from compliance.models import TreatCheck
from compliance.rules.values import Outcome
from compliance.web.labelwords import LabelPart, Pointer, label_parts
from compliance.web.names import short_names
from compliance.web.photos import photos_of_check
from compliance.web.signed_in import SignedInRequest
from compliance.web.uptodate import watched_treat
from menus.models import Label
from roster.models import Child, Enrolment, TextureLevel

Causes = tuple[tuple[str, tuple[str, ...]], ...]
"""Titles of rules, each with the label's words that they rest on."""


@dataclass(frozen=True, slots=True)
class Concern:
    """One food that a child must avoid, and why this treat meets it."""

    substance: str
    outcome: Outcome
    reasons: tuple[Reason, ...]

    @property
    def lifted(self) -> bool:
        """Whether an allowance covers what would else have been graver."""
        return any(reason.allowed and reason.outcome > self.outcome for reason in self.reasons)

    @property
    def causes(self) -> Causes:
        """What weighs: each reason that led to the outcome, with the words of the label behind it, each once."""
        found: dict[str, dict[str, None]] = {}
        for reason in self.reasons:
            counts = reason.outcome is self.outcome and not reason.allowed
            if counts or self.outcome is Outcome.NONE_FOUND:
                found.setdefault(reason.title, {}).update({reason.words: None} if reason.words else {})
        return tuple((title, tuple(words)) for title, words in found.items())


@dataclass(frozen=True, slots=True)
class Concerned:
    """One child at one outcome, with every food that led to it."""

    child: int
    name: str
    concerns: tuple[Concern, ...]

    @property
    def lifted(self) -> str:
        """The foods for which an allowance made the answer milder."""
        return ", ".join(concern.substance for concern in self.concerns if concern.lifted)

    @property
    def lines(self) -> list[tuple[str, Causes]]:
        """The foods that the child must avoid, those with the same causes on one line."""
        foods: dict[Causes, list[str]] = {}
        for concern in self.concerns:
            foods.setdefault(concern.causes, []).append(concern.substance)
        return [(", ".join(names), causes) for causes, names in foods.items()]


@dataclass(frozen=True, slots=True)
class Answer:
    """A stored result in the form that the page shows."""

    as_of: datetime
    withhold: tuple[Concerned, ...]
    refer: tuple[Concerned, ...]
    notes: tuple[Concerned, ...]
    none_found: int
    children: int
    offers: list[dict[str, Any]]
    texture: tuple[tuple[str, str], ...]  # children for whom a level of texture is set, and which
    texture_allowed: tuple[str, ...]  # children at whose level licensed staff allow this label version
    parts: list[LabelPart]

    @property
    def groups(self) -> list[tuple[Outcome, tuple[Concerned, ...]]]:
        """The outcomes that somebody met, the gravest first."""
        every = [(Outcome.WITHHOLD, self.withhold), (Outcome.REFER, self.refer)]
        return [(outcome, children) for outcome, children in every if children]


@require_safe
def treat_result(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one check to those who may look into its class."""
    check = get_object_or_404(TreatCheck.objects.visible_to(request.user), pk=pk)
    answer = answer_of(check)
    context = {
        "check": check,
        "site": check.classroom.site,
        "answer": answer,
        "as_of": answer.as_of,
        "past": check.served_at <= timezone.now(),
        "photos": photos_of_check(check),
        "seen_to": seen_to_at(check),
        "answers": _answers(check),
        "watched": watched_treat(check),
    }
    return render(request, "treat/result.html", context)


def _answers(check: TreatCheck) -> list[tuple[str, str]]:
    """Each child about whom licensed staff have answered since, by short name, with the answer. Three queries."""
    answers: Answers = answers_since([check])[check.pk]
    said = answers.children
    names = short_names(_of_class(check, {child.pk for child, _ in said})) if said else {}
    return sorted((names[child.pk], what) for child, what in said)


def answer_of(check: TreatCheck) -> Answer:
    """Return the stored result of a check as the page shows it. One query, for the children's names."""
    result = check.result
    withheld = {row["child_id"] for row in result["withhold"]}
    # A child already at `withhold` is listed once; what would have been asked about them is kept as a further reason.
    refer = [row for row in result["refer"] if row["child_id"] not in withheld]
    withhold = result["withhold"] + [row for row in result["refer"] if row["child_id"] in withheld]
    rows = result["withhold"] + result["refer"] + result["notes"]
    textured = result.get("texture", [])
    allowed = result.get("texture_allowed", [])
    names = short_names(_of_class(check, {row["child_id"] for row in [*rows, *textured]} | set(allowed)))
    return Answer(
        as_of=datetime.fromisoformat(result["as_of"]),
        withhold=tuple(_by_child(withhold, names)),
        refer=tuple(_by_child(refer, names)),
        notes=tuple(_by_child(result["notes"], names)),
        none_found=result["none_found"],
        children=result["children"],
        offers=result["offers"],
        texture=tuple((names[row["child_id"]], _level(row)) for row in textured),
        texture_allowed=tuple(names[child] for child in allowed),
        parts=label_parts(check.label, _pointers(check.label, rows)) if check.label else [],
    )


def _level(row: dict[str, Any]) -> str:
    return texture_says(TextureLevel(food_level=row["food_level"], drink_level=row["drink_level"]))


def _of_class(check: TreatCheck, named: set[int]) -> QuerySet[Child]:
    """The whole class of that day beside the named: a name must be nobody else's there, concerned or not."""
    day = check.served_at.astimezone(check.classroom.site.zone).date()
    there = Enrolment.objects.on(day).filter(classroom=check.classroom_id)
    return Child.objects.filter(Q(pk__in=named) | Q(pk__in=there.order_by().values("child")))


def _by_child(rows: Iterable[dict[str, Any]], names: dict[int, str]) -> Iterator[Concerned]:
    concerns: dict[int, list[Concern]] = {}
    for row in rows:
        concern = Concern(
            row["substance_name"], OUTCOME_OF_CODE[row["outcome"]], tuple(stored_reasons(row["findings"]))
        )
        concerns.setdefault(row["child_id"], []).append(concern)
    for child in sorted(concerns, key=lambda pk: names[pk]):
        yield Concerned(child, names[child], tuple(concerns[child]))


def _pointers(label: Label, rows: Iterable[dict[str, Any]]) -> Iterator[Pointer]:
    for row in rows:
        for reason in stored_reasons(row["findings"]):
            if reason.span and reason.label_id == str(label.pk):
                outcome = Outcome.NONE_FOUND if reason.allowed else reason.outcome
                yield Pointer(reason.span.part, reason.span.start, reason.span.end, outcome)


urls = [path("treat/<int:pk>/", treat_result, name="treat-result")]
