"""Which meal of which week is asked for, and which dishes are tried out in place of planned ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet
from django.http import QueryDict
from django.utils.dateparse import parse_date
from django.utils.http import urlencode

from compliance.web.numbers import row_number
from menus.models import Meal, Recipe, Site
from menus.models.cycle import monday_of

EARLIEST, LATEST = date(2000, 1, 3), date(2999, 1, 1)
"""Beyond these nobody plans a menu, and the weeks beside them would run out of the calendar."""
MOST_TRIALS = 20
"""As many exchanges at once as anybody can follow."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A recipe in place of the one that is planned, for the eye alone."""

    serving: int
    recipe: Recipe

    @property
    def text(self) -> str:
        """As it stands in the address."""
        return f"{self.serving}:{self.recipe.code}"


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address asks for."""

    site: Site
    meal: Meal
    monday: date
    trials: tuple[Trial, ...] = ()
    passed_over: tuple[str, ...] = ()  # what in the address cannot be tried out

    def address(self, *, meal: Meal | None = None, monday: date | None = None, without: int | None = None) -> str:
        """Return the query of the same page with something else; trials go along within their own week and meal."""
        where = [
            ("site", self.site.code),
            ("meal", (meal or self.meal).value),
            ("from", (monday or self.monday).isoformat()),
        ]
        kept = () if meal or monday else self.trials
        return urlencode([*where, *(("try", trial.text) for trial in kept if trial.serving != without)])


def asked(query: QueryDict, *, site: Site, today: date, meals: Sequence[Meal]) -> Asked:
    """Return what is asked for; what the address does not say, or says wrongly, is this week's first planned meal.

    `meals` are those planned at the site in about this time. A trial stands as `try=SERVING:RECIPE`, or as the two
    fields of the form, which count last.
    """
    first = Meal.LUNCH if Meal.LUNCH in meals or not meals else meals[0]
    meal = next((each for each in Meal if each.value == query.get("meal")), first)
    texts = query.getlist("try")[:MOST_TRIALS]
    if query.get("serving") and query.get("recipe"):
        texts.append(f"{query['serving']}:{query['recipe']}")
    trials, passed_over = _trials(texts, site)
    return Asked(site, meal, monday_of(_day(query.get("from", "")) or today), trials, passed_over)


def recipes_at(site: Site) -> QuerySet[Recipe]:
    """Return the recipes that may be cooked at the site and have lines, by name."""
    return Recipe.objects.filter(Q(site=None) | Q(site=site), versions__isnull=False).distinct().order_by("name")


def _day(text: str) -> date | None:
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and EARLIEST <= day <= LATEST else None


def _trials(texts: Sequence[str], site: Site) -> tuple[tuple[Trial, ...], tuple[str, ...]]:
    """Read the trials; of two for one serving the later counts."""
    pairs = {text: text.partition(":") for text in texts}
    codes = {code for _, _, code in pairs.values()}
    known = {recipe.code: recipe for recipe in recipes_at(site).filter(code__in=codes)} if codes else {}
    found: dict[int, Trial] = {}
    passed_over = []
    for text, (serving, _, code) in pairs.items():
        if (number := row_number(serving)) and code in known:
            found[number] = Trial(number, known[code])
        else:
            passed_over.append(text)
    return tuple(found.values()), tuple(passed_over)
