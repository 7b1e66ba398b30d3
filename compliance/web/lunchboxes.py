"""The boxes of a week: of a guardian's own children, or of a class; what to buy and prepare for them; their labels."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.reports.lunchlabels import label_sheets, lunchlabels_pdf, usual_sheet
from compliance.reports.typeset import paper_of
from compliance.web.guardian import shown_to_guardian
from compliance.web.handout import shown_pdf
from compliance.web.language import in_own_language
from compliance.web.lunchbox_labels import label_words, labels_of
from compliance.web.lunchbox_list import to_buy, to_prepare
from compliance.web.lunchbox_said import tongue
from compliance.web.lunchbox_week import Week, week_of
from compliance.web.names import short_names
from compliance.web.signed_in import SignedInRequest
from roster.models import Child, LunchBox, Verb
from roster.record.write import Entry, record_all


@dataclass(frozen=True, slots=True)
class Row:
    """One child, and its boxes by day: None where none is planned."""

    child: Child
    name: str
    boxes: tuple[tuple[date, LunchBox | None], ...]


@require_safe
@in_own_language
def lunchboxes(request: SignedInRequest) -> HttpResponse:
    """Show the week's boxes, child by child."""
    week = week_of(request)
    boxes = week.boxes()
    by_day = {(box.child_id, box.day): box for box in boxes}
    names = short_names(week.children)
    rows = [
        Row(child, names[child.pk], tuple((day, by_day.get((child.pk, day))) for day in week.days))
        for child in week.children
    ]
    sheets = label_sheets().values()
    return render(request, "lunchbox/week.html", _context(week, rows=rows, boxes=boxes, sheets=sheets))


@require_safe
@in_own_language
def lunchbox_list(request: SignedInRequest) -> HttpResponse:
    """Show what to buy and what to prepare for the week's boxes: food and form, no child."""
    week = week_of(request)
    boxes = week.boxes()
    context = _context(week, boxes=boxes, prepared=to_prepare(boxes), bought=to_buy(boxes))
    return render(request, "lunchbox/list.html", context)


@require_safe
@in_own_language
def lunchbox_labels(request: SignedInRequest) -> HttpResponse:
    """Hand out the labels of the week's boxes for the sheet `?sheet=`. The printing is on record."""
    week, now = week_of(request), timezone.now()
    asked = request.GET.get("sheet", "")
    if asked and asked not in label_sheets():
        raise Http404("There is no such sheet of labels.")
    sheet = label_sheets()[asked] if asked else usual_sheet(paper_of(week.site))
    labels = labels_of(week, now)
    made = lunchlabels_pdf(sheet, labels, site=week.site, as_of=now, words=label_words(), language=tongue())
    _on_record(week)
    return shown_pdf(made, f"lunchbox-labels-{week.monday.isoformat()}.pdf")


def _on_record(week: Week) -> None:
    """Each child's family reads in its own copy that its labels were printed."""
    boxes = Counter(box.child_id for box in week.boxes())
    printed = [child for child in week.children if boxes[child.pk]]
    record_all(
        Entry(Verb.EXPORTED, "lunch box labels", week.site, child, {"boxes": boxes[child.pk]}) for child in printed
    )


def _context(week: Week, **more: Any) -> dict[str, Any]:
    return shown_to_guardian(
        week=week,
        site=week.site,
        as_of=timezone.now(),
        earlier=week.monday - timedelta(days=7),
        later=week.monday + timedelta(days=7),
        **more,
    )


urls = [
    path("lunchboxes/", lunchboxes, name="lunchboxes"),
    path("lunchboxes/list/", lunchbox_list, name="lunchbox-list"),
    path("lunchboxes/labels.pdf", lunchbox_labels, name="lunchbox-labels"),
]
