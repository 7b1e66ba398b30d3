"""Read a site's week: what stands on the plan and on hand, what it brings, and who is kept from which dish."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta

from compliance.checks.children import Period, children_at, periods
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.served import checked_servings
from compliance.checks.wholemeals.credits import Brings, brings, planned_brings
from compliance.checks.wholemeals.facts import UNCHECKED, MealFacts, Stop, WeekFacts
from compliance.checks.wholemeals.onhand import OnHand
from compliance.rules.values import Outcome
from menus.mealpattern.patterns.needs import needs
from menus.models import Alternative, Serving, Site, SitePattern
from menus.models.cycle import MEAL_ORDER
from roster.models import Enrolment

SIX_DAYS = timedelta(days=6)

Stops = dict[int, dict[int, list[Stop]]]


def gather(site: Site, monday: date, at: datetime) -> WeekFacts:
    """Return the week that begins on that Monday, as known at that moment.

    Planned dishes stand as their last check found them; one that was not checked is kept from every restricted child.
    The number of queries grows with the meals of the day, not with dishes or children.
    """
    return _Gathering(site, monday, at).week()


class _Gathering:
    """One reading of a week; what all its meals share is read once."""

    def __init__(self, site: Site, monday: date, at: datetime) -> None:
        self.site, self.monday, self.sunday, self.at = site, monday, monday + SIX_DAYS, at
        rows = Serving.objects.planned().filter(site=site).between(monday, self.sunday).select_related("recipe")
        self.servings = sorted(rows, key=lambda each: (each.date, MEAL_ORDER[each.meal], each.pk))
        known = Alternative.objects.between(monday, self.sunday).filter(site=site).select_related("recipe")
        self.alternatives = list(known.order_by("pk"))
        self.stays = list(
            Enrolment.objects.during(monday, self.sunday).filter(classroom__site=site).order_by("classroom__name", "pk")
        )
        self.periods = periods(children_at(site, monday, self.sunday), monday, self.sunday, at)
        self.checked = checked_servings(site, monday, self.sunday)
        self.found = self._found()
        recipes = {each.recipe for each in self.servings} | {each.recipe for each in self.alternatives}
        self.judge = OnHand(site, recipes, at.astimezone(site.zone).date(), at)
        self.brings = brings(self.alternatives)

    def week(self) -> WeekFacts:
        meals: dict[tuple[date, str], list[Serving]] = {}
        for serving in self.servings:
            meals.setdefault((serving.date, serving.meal), []).append(serving)
        planned = {meal: planned_brings(self.site, self.monday, meal) for meal in {meal for _, meal in meals}}
        return WeekFacts(
            self.site,
            self.monday,
            tuple(self._meal(day, meal, there, planned[meal]) for (day, meal), there in meals.items()),
            self._stock(),
        )

    def _found(self) -> dict[tuple[int, int], list[Stop]]:
        """What the standing check says, by child and serving."""
        found: dict[tuple[int, int], list[Stop]] = {}
        for row in find_exceptions(None, ExceptionFilter(self.monday, self.sunday, site=self.site)):
            found.setdefault((row.child.pk, row.serving.pk), []).append(Stop(row.restriction.substance, row.outcome))
        return found

    def _stock(self) -> dict[int, int]:
        """Where two entries of a dish overlap the week, the smaller number holds."""
        stock: dict[int, int] = {}
        for each in self.alternatives:
            if each.portions is not None:
                stock[each.recipe_id] = min(each.portions, stock.get(each.recipe_id, each.portions))
        return stock

    def _meal(self, day: date, meal: str, servings: list[Serving], planned: Mapping[int, Brings]) -> MealFacts:
        known = {each.recipe_id for each in servings}
        on_hand = {
            each.recipe_id: each
            for each in self.alternatives
            if each.is_on_hand(day, meal) and each.recipe_id not in known
        }
        held = SitePattern.objects.holding(self.site, meal, day)
        all_brings = {
            **{each.recipe_id: planned[each.pk] for each in servings},
            **{pk: self.brings[pk] for pk in on_hand},
        }
        there = {stay.child_id: stay.classroom_id for stay in reversed(self.stays) if _is_there(stay, day)}
        restricted = self._restricted(day, servings, there)
        stops = {child: self._stops(child, day, servings, list(on_hand)) for child in restricted}
        return MealFacts(
            day=day,
            meal=meal,
            servings=tuple(servings),
            on_hand=tuple(on_hand.values()),
            foods={pk: each.food for pk, each in all_brings.items()},
            asked={pk: each.asked for pk, each in all_brings.items() if each.asked},
            needs=needs(held.pattern if held else None, day, [planned[each.pk].food for each in servings]),
            program=f"{held.pattern.title}, {held.group}" if held else "",
            classrooms={child: there[child] for child in restricted},
            stops=stops,
            children=len(there),
            unchecked=tuple(each.recipe_id for each in servings if each.pk not in self.checked),
        )

    def _restricted(self, day: date, servings: Iterable[Serving], there: Mapping[int, int]) -> list[int]:
        """Whoever has a restriction on the day, and whoever the check of a dish names."""
        held = {each.restriction.child_id for each in self._held(day)}
        pks = {serving.pk for serving in servings}
        named = {child for child, serving in self.found if serving in pks}
        return sorted((held | named) & there.keys())

    def _held(self, day: date) -> Iterator[Period]:
        return (each for each in self.periods if each.first <= day <= each.last)

    def _stops(self, child: int, day: date, servings: list[Serving], on_hand: list[int]) -> dict[int, tuple[Stop, ...]]:
        found: dict[int, tuple[Stop, ...]] = {}
        for serving in servings:
            stops = self.found.get((child, serving.pk), []) if serving.pk in self.checked else [UNCHECKED]
            if stops:
                found[serving.recipe_id] = tuple(sorted(set(stops)))
        held = (each for each in self._held(day) if each.restriction.child_id == child)
        types = {(each.restriction.substance, each.type) for each in held}
        meal = frozenset([*(each.recipe_id for each in servings), *on_hand])
        for recipe in on_hand:
            judged = {Stop(substance, self.judge.outcome(recipe, kind, meal)) for substance, kind in types}
            if stops := [stop for stop in judged if stop.outcome is not Outcome.NONE_FOUND]:
                found[recipe] = tuple(sorted(stops))
        return found


def _is_there(stay: Enrolment, day: date) -> bool:
    return stay.starts_on <= day and (stay.ends_on is None or day <= stay.ends_on)
