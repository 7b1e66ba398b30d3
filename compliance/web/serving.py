"""One dish at one meal: for whom it is withheld or referred, and the label words that say so, in place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.age import births_at, serving_notices
from compliance.checks.children import children_at
from compliance.checks.cycle import look_at_serving
from compliance.checks.exceptions import ExceptionRow
from compliance.checks.pageread import read_of_serving
from compliance.checks.reasons import Reason
from compliance.checks.seen_to import seen_to
from compliance.checks.served import checked, runs_of
from compliance.checks.texture import dish_textures, levels_by_site, withheld_from
from compliance.checks.texturesaid import levels_meant, texture_lines
from compliance.rules.values import Outcome
from compliance.web.labelwords import LabelPart, Pointer, label_parts
from compliance.web.place import sites_for
from compliance.web.serving_texture import state_form
from compliance.web.signed_in import SignedInRequest
from compliance.web.uptodate import watched_serving
from menus.models import Label, Serving
from roster.access import may
from roster.models import Child, Classroom, Strictness
from roster.permits import Act, Thing


@dataclass(slots=True)
class Avoided:
    """What is avoided, how strictly, and the children whom the dish concerns for it."""

    substance: str
    strictness: str
    outcome: Outcome
    reasons: tuple[Reason, ...]
    rows: list[ExceptionRow] = field(default_factory=list)


@dataclass(slots=True)
class Plates:
    """The children of one class who do not get the dish, each at their gravest outcome: what plating goes by."""

    classroom: Classroom
    children: dict[Child, Outcome] = field(default_factory=dict)

    @property
    def outcomes(self) -> list[tuple[Outcome, list[Child]]]:
        """The gravest outcome first."""
        met = sorted(set(self.children.values()), reverse=True)
        return [(outcome, [child for child, at in self.children.items() if at is outcome]) for outcome in met]


@dataclass(frozen=True, slots=True)
class Shown:
    """A label version with the words that the reasons point at."""

    label: Label
    parts: list[LabelPart]


@require_safe
def serving(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the reasons for one serving. 404 for another site's."""
    sites = sites_for(request)
    shown = get_object_or_404(
        Serving.objects.select_related("site", "recipe", "in_place_of__recipe"), pk=pk, site__in=sites
    )
    now = read_of_serving(shown)  # before the rest is read
    served = checked().filter(serving=shown).select_related("dish__version").defer("dish__evidence").first()
    as_of = runs_of([shown.site], [shown.date])[shown.site_id, shown.date].as_of if served else None
    look = look_at_serving(request.user, shown)
    rows = look.exceptions()
    return render(
        request,
        "serving/serving.html",
        {
            "serving": shown,
            "watched": watched_serving(shown, read_of_serving(shown, as_of), now),
            "site": shown.site,
            "served": served,
            "as_of": as_of,
            "avoided": _avoided(rows),
            "plates": _plates(rows),
            "labels": _labels(rows),
            "lifted": look.lifted(),
            "by_age": serving_notices([shown], births_at(shown.site, shown.date), shown.date, shown.site)[shown.pk],
            "seen_to": seen_to(children_at(shown.site, shown.date, shown.date), shown.date, timezone.now()),
            "children": len({row.child.pk for row in rows}),
            **_textures(request, shown, rows),
        },
    )


def _textures(request: SignedInRequest, serving: Serving, rows: list[ExceptionRow]) -> dict[str, Any]:
    """Who needs which level of texture, but for those who do not get the dish; and the form to state one.

    A query, and three more where a level is set for somebody.
    """
    now = timezone.now()
    levels = levels_by_site([serving.site_id], serving.date, now)
    if not levels:
        return {}
    may_state = may(request.user, Thing.FOOD_FILE, Act.IMPORT, site=serving.site)
    form = state_form(serving.recipe) if may_state else None
    dish = dish_textures([serving], levels, now).get(serving.pk)
    if dish is None:
        return {"state_form": form}
    names = {pk: str(level.child) for pk, level in levels[serving.site_id].items()}
    dish = dish.without(withheld_from(rows).get(serving.pk, ()))
    return {"textures": texture_lines(dish, names), "levels": levels_meant(dish), "state_form": form}


def _avoided(rows: list[ExceptionRow]) -> list[Avoided]:
    """Children who avoid the same and for the same reasons, together; the gravest outcome first."""
    found: dict[tuple[object, ...], Avoided] = {}
    for row in rows:
        restriction = row.restriction
        key = (row.outcome, restriction.substance, restriction.strictness, row.reasons)
        strictness = Strictness(restriction.strictness).label
        group = found.setdefault(key, Avoided(row.substance_name, strictness, row.outcome, row.reasons))
        group.rows.append(row)
    return sorted(found.values(), key=lambda each: (-each.outcome, each.substance, each.strictness))


def _plates(rows: list[ExceptionRow]) -> list[Plates]:
    """Class by class, in the order of the exceptions."""
    found: dict[int, Plates] = {}
    for row in rows:
        children = found.setdefault(row.classroom.pk, Plates(row.classroom)).children
        children[row.child] = max(row.outcome, children.get(row.child, row.outcome))
    return sorted(found.values(), key=lambda each: each.classroom.name)


def _labels(rows: list[ExceptionRow]) -> list[Shown]:
    """The label versions that the reasons name, each once, with all the words marked. One query."""
    pointers: dict[int, list[Pointer]] = {}
    for row in rows:
        for reason in row.reasons:
            if reason.label_id:
                marks = pointers.setdefault(int(reason.label_id), [])
                if reason.span:
                    marks.append(Pointer(reason.span.part, reason.span.start, reason.span.end, reason.outcome))
    labels = Label.objects.filter(pk__in=pointers).select_related("product").order_by("product__name")
    return [Shown(label, label_parts(label, pointers[label.pk])) for label in labels]


urls = [path("servings/<int:pk>/", serving, name="serving")]
