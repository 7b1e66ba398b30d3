"""The boxes of a week: of a guardian's own children, or of a class; what to buy and prepare for them; their labels."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_safe

from compliance.reports.lunchlabels import LunchLabel, label_sheets, lunchlabels_pdf, usual_sheet
from compliance.reports.typeset import paper_of
from compliance.web.classrooms import Room, room_of
from compliance.web.gates import children_for
from compliance.web.guardian import shown_to_guardian
from compliance.web.handout import shown_pdf
from compliance.web.language import in_own_language
from compliance.web.lunchbox_said import food_name, shape_name, substance, texture_says, tongue
from compliance.web.names import short_names
from compliance.web.signed_in import SignedInRequest
from compliance.web.tags import demo_codes
from menus.mealpattern.household import household_foods
from menus.models import Site
from menus.models.cycle import monday_of
from roster.access import own_children
from roster.life.lunchbox import packed_of
from roster.life.texture import textures_of
from roster.models import Child, Enrolment, LunchBox, Restriction, Strictness, Verb
from roster.record.write import record

SCHOOL_DAYS = 5


@dataclass(frozen=True, slots=True)
class Week:
    """The children that the page is about, at their site, and the days from Monday to Friday."""

    children: tuple[Child, ...]
    site: Site
    room: Room | None
    monday: date

    @property
    def days(self) -> list[date]:
        """Monday to Friday."""
        return [self.monday + timedelta(days=n) for n in range(SCHOOL_DAYS)]

    def boxes(self) -> list[LunchBox]:
        """The boxes planned for these children in the week, by day and child. Two queries."""
        planned = LunchBox.objects.planned(timezone.now()).filter(
            child__in=[child.pk for child in self.children], day__range=(self.days[0], self.days[-1])
        )
        with_items = planned.select_related("child").prefetch_related("items__product")
        return list(with_items.order_by("day", "child__given_name", "child_id"))


@dataclass(frozen=True, slots=True)
class Row:
    """One child, and its boxes by day: None where none is planned."""

    child: Child
    name: str
    boxes: tuple[tuple[date, LunchBox | None], ...]


@dataclass(frozen=True, slots=True)
class ToPrepare:
    """One food in one form, and in how many boxes it goes on which days."""

    food: str
    shape: str
    boxes: int
    portion: str  # of one box; empty where nobody knows
    days: tuple[tuple[date, int], ...]


@require_safe
@in_own_language
def lunchboxes(request: SignedInRequest) -> HttpResponse:
    """Show the week's boxes, child by child."""
    week = _week(request)
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
    week = _week(request)
    boxes = week.boxes()
    context = _context(week, boxes=boxes, prepared=to_prepare(boxes), bought=to_buy(boxes))
    return render(request, "lunchbox/list.html", context)


@require_safe
@in_own_language
def lunchbox_labels(request: SignedInRequest) -> HttpResponse:
    """Hand out the labels of the week's boxes, or of `?day=`, for the sheet `?sheet=`. The printing is on record."""
    week, now = _week(request), timezone.now()
    asked = request.GET.get("sheet", "")
    if asked and asked not in label_sheets():
        raise Http404("There is no such sheet of labels.")
    sheet = label_sheets()[asked] if asked else usual_sheet(paper_of(week.site))
    labels = labels_of(week, now)
    made = lunchlabels_pdf(sheet, labels, site=week.site, as_of=now, words=_label_words(), language=tongue())
    record(Verb.EXPORTED, "lunch box labels", site=week.site, by=request.user.pk, boxes=len(labels))
    return shown_pdf(made, f"lunchbox-labels-{week.monday.isoformat()}.pdf")


def to_prepare(boxes: list[LunchBox]) -> list[ToPrepare]:
    """Return each food in each form with its boxes, by name: “grapes, quartered lengthwise: 3 boxes”."""
    counted: dict[tuple[str, str, str], Counter[date]] = {}
    for box in boxes:
        for key in {_prepared(packed) for packed in packed_of(box.items.all())}:
            counted.setdefault(key, Counter())[box.day] += 1
    return [
        ToPrepare(food, shape, days.total(), portion, tuple(sorted(days.items())))
        for (food, shape, portion), days in sorted(counted.items(), key=lambda each: each[0])
    ]


def to_buy(boxes: list[LunchBox]) -> list[tuple[str, int, str]]:
    """Return each food, in how many boxes it goes in whatever form, and the portion of one."""
    counted: Counter[tuple[str, str]] = Counter()
    for each in to_prepare(boxes):
        counted[each.food, each.portion] += each.boxes
    return [(food, boxes_of, portion) for (food, portion), boxes_of in sorted(counted.items())]


def labels_of(week: Week, now: datetime) -> list[LunchLabel]:
    """Return one label a box, as known now. The number of queries does not grow with the boxes."""
    boxes = week.boxes()
    away = _away(week, now)
    textures = textures_of([child.pk for child in week.children], now)
    first, short = Counter(child.given_name.casefold() for child in week.children), short_names(week.children)
    return [
        LunchLabel(
            name=box.child.given_name if first[box.child.given_name.casefold()] == 1 else short[box.child_id],
            day=box.day,
            away=[
                *(name for holds, name in away.get(box.child_id, []) if holds.holds_on(box.day)),
                *([texture_says(textures[box.child_id])] if box.child_id in textures else []),
            ],
            keep=_keep({item.keeps for item in box.items.all()}),
            demo=week.site.code in demo_codes(),
        )
        for box in boxes
    ]


def _prepared(packed: Any) -> tuple[str, str, str]:
    food = household_foods().get(packed.household)
    return food_name(packed), shape_name(packed), food.portion if food else ""


def _away(week: Week, now: datetime) -> dict[int, list[tuple[Restriction, str]]]:
    standing = Restriction.objects.standing(week.days[0], week.days[-1], now)
    found: dict[int, list[tuple[Restriction, str]]] = {}
    for each in standing.filter(child__in=[child.pk for child in week.children]).order_by("pk"):
        traces = each.strictness == Strictness.TRACE
        name = substance(each.substance) if each.substance else gettext(each.told)
        told = gettext("%(food)s (traces too)") % {"food": name} if each.substance and traces else name
        found.setdefault(each.child_id, []).append((each, told))
    return found


def _keep(keeps: set[str]) -> str:
    if "hot" in keeps and ("cold" in keeps or "" in keeps):
        return gettext("Keep cold what is cold, hot what is hot.")
    if "hot" in keeps:
        return gettext("Keep hot.")
    return gettext("Keep cold.") if keeps & {"cold", ""} else ""


def _label_words() -> dict[str, str]:
    return {
        "title": gettext("Lunchbox labels"),
        "away": gettext("Keep away:"),
        "nothing": gettext("Nothing on record to keep away. That is no promise."),
        "many": gettext("More to keep away than fits here: look at the class list."),
        "as_of": gettext("As of"),
        "ask": gettext("Ask licensed staff in doubt."),
        "demo": gettext("Sample."),
    }


def _context(week: Week, **more: Any) -> dict[str, Any]:
    return shown_to_guardian(
        week=week,
        site=week.site,
        as_of=timezone.now(),
        earlier=week.monday - timedelta(days=7),
        later=week.monday + timedelta(days=7),
        **more,
    )


def _week(request: SignedInRequest) -> Week:
    """The guardian's own children; else the class chosen, for licensed staff. 404 where there is neither."""
    allowed = children_for(request)
    own = [child for child in own_children(request.user).order_by("given_name", "pk") if child.site]
    if own and "class" not in request.GET:
        site = own[0].site
        assert site is not None  # only such are kept
        return Week(tuple(own), site, None, _monday(request, site))
    room = room_of(request)
    there = Enrolment.objects.on(room.today).filter(classroom=room.classroom).order_by().values("child")
    children = tuple(allowed.filter(pk__in=there).order_by("given_name", "family_name", "pk"))
    return Week(children, room.site, room, _monday(request, room.site))


def _monday(request: SignedInRequest, site: Site) -> date:
    """The Monday of `?week=`; else of this week, and from Saturday on of the next."""
    asked = request.GET.get("week", "")
    if asked:
        try:
            day = datetime.strptime(asked, "%Y-%m-%d").date()  # noqa: DTZ007  (a day has no clock)
        except ValueError as error:
            raise Http404("This is no day of the calendar.") from error
    else:
        day = timezone.now().astimezone(site.zone).date() + timedelta(days=2)
    return monday_of(day)


urls = [
    path("lunchboxes/", lunchboxes, name="lunchboxes"),
    path("lunchboxes/list/", lunchbox_list, name="lunchbox-list"),
    path("lunchboxes/labels.pdf", lunchbox_labels, name="lunchbox-labels"),
]
