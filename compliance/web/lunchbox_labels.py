"""The labels of a week's lunchboxes: first name, day, what to keep away."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from django.utils.translation import gettext

from compliance.checks.avoided import NOTHING, Avoided, avoided_by
from compliance.checks.texture import levels_asked
from compliance.checks.texturesaid import texture_says
from compliance.reports.lunchlabels import LunchLabel
from compliance.web.lunchbox_said import substance
from compliance.web.lunchbox_week import Week
from compliance.web.names import short_names
from compliance.web.tags import demo_codes
from roster.models import Strictness, TextureLevel


def labels_of(week: Week, now: datetime) -> list[LunchLabel]:
    """Return one label a box, as known now. The number of queries does not grow with the boxes."""
    boxes = week.boxes()
    children = [child.pk for child in week.children]
    avoided = {day: avoided_by(children, day, now) for day in week.days}
    levels = levels_asked(children, now)
    first, short = Counter(child.given_name.casefold() for child in week.children), short_names(week.children)
    return [
        LunchLabel(
            name=box.child.given_name if first[box.child.given_name.casefold()] == 1 else short[box.child_id],
            day=box.day,
            away=_away(avoided[box.day].get(box.child_id, NOTHING), levels.get(box.child_id)),
            keep=_keep({item.keeps for item in box.items.all()}),
            demo=week.site.code in demo_codes(),
        )
        for box in boxes
    ]


def _away(held: Avoided, level: TextureLevel | None) -> list[str]:
    """What is to be kept away, in the language of the page. One after the other, so none ends in a full stop."""
    foods = [
        gettext("%(food)s (traces too)") % {"food": substance(code)} if far is Strictness.TRACE else substance(code)
        for code, far in held.far.items()
    ]
    told = [gettext(each) for each in held.told] + ([texture_says(level)] if level else [])
    return [*foods, *(each.rstrip(".") for each in told)]


def _keep(keeps: set[str]) -> str:
    if "hot" in keeps and ("cold" in keeps or "" in keeps):
        return gettext("Keep cold what is cold, hot what is hot.")
    if "hot" in keeps:
        return gettext("Keep hot.")
    return gettext("Keep cold.") if keeps & {"cold", ""} else ""


def label_words() -> dict[str, str]:
    """The few words that are the service's own, in the language of the page."""
    return {
        "title": gettext("Lunchbox labels"),
        "away": gettext("Keep away:"),
        "nothing": gettext("Nothing on record to keep away. That is no promise."),
        "many": gettext("More to keep away than fits here: look at the class list."),
        "as_of": gettext("As of"),
        "ask": gettext("Ask licensed staff in doubt."),
        "demo": gettext("Sample."),
    }
