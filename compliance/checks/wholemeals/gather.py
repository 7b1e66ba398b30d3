"""Read a site's days: what stands on the plan and on hand, what it brings, and who is kept from which dish."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime

from compliance.checks.children import Period, children_at, periods
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.served import checked_servings
from compliance.checks.wholemeals.credits import Brings, brings, planned_brings
from compliance.checks.wholemeals.facts import UNCHECKED, MealFacts, MealWeek, SpanFacts, Stop
from compliance.checks.wholemeals.fitting import Fitting
from compliance.checks.wholemeals.onhand import OnHand
from compliance.checks.wholemeals.plan import Patterns, planned, reach_of_checks
from compliance.checks.wholemeals.stock import stocks_of
from compliance.rules.values import Outcome
from menus.mealpattern.patterns.needs import needs
from menus.mealpattern.patterns.weekly import weekly_figures
from menus.models import Alternative, Serving, Site
from menus.models.cycle import SIX_DAYS, monday_of
from menus.services.dishes import dishes
from roster.models import Enrolment


def gather(site: Site, first: date, last: date, at: datetime, meal: str = "") -> SpanFacts:
    """Return the days between the two, both included, as known at that moment; one meal of them, where it is named.

    Planned dishes stand as their last check found them; one that was not checked is kept from every restricted child.
    On days that no check reaches yet they are judged by their recipe, as dishes on hand are. The number of queries
    grows with the weeks, not with dishes or children.
    """
    return _Gathering(site, first, last, at, meal).span()


class _Gathering:
    """One reading of some days; what all their meals share is read once."""

    def __init__(self, site: Site, first: date, last: date, at: datetime, meal: str) -> None:
        self.site, self.first, self.last, self.at, self.meal = site, first, last, at, meal
        self.servings = planned(site, first, last, at, meal)
        known = Alternative.objects.between(first, last).filter(site=site).select_related("recipe")
        self.alternatives = list(known.order_by("pk"))
        self.stays = list(
            Enrolment.objects.during(first, last).filter(classroom__site=site).order_by("classroom__name", "pk")
        )
        there = children_at(site, first, last)
        self.periods = periods(there, first, last, at)
        self.checked = checked_servings(site, first, last)
        self.found = self._found()
        self.reach = reach_of_checks(site, at)
        on_hand = {each.recipe for each in self.alternatives}
        self.judge = OnHand(
            site, {each.recipe for each in self.servings} | on_hand, at.astimezone(site.zone).date(), at
        )
        self.fitting = Fitting(site, on_hand, there, at)
        self.known = dishes({each.recipe_id: each.recipe for each in self.servings}.values())
        self.brings = brings(self.alternatives)
        self.patterns = Patterns(site)

    def span(self) -> SpanFacts:
        meals: dict[tuple[date, str], list[Serving]] = {}
        for serving in self.servings:
            meals.setdefault((serving.date, serving.meal), []).append(serving)
        return SpanFacts(
            self.site,
            self.first,
            self.last,
            tuple(self._meal(day, meal, there) for (day, meal), there in meals.items()),
            stocks_of(self.site, self.alternatives, self.first, self.last, self.meal),
            tuple(self._weeks(meals)),
        )

    def _weeks(self, meals: Iterable[tuple[date, str]]) -> Iterator[MealWeek]:
        """The weeks that lie within the days, each with the figures of its pattern."""
        days: dict[tuple[str, date], list[date]] = {}
        for day, meal in meals:
            days.setdefault((meal, monday_of(day)), []).append(day)
        for (meal, monday), planned_on in days.items():
            held = self.patterns.on(meal, monday)
            if held and not self.meal and self.first <= monday and monday + SIX_DAYS <= self.last:
                figures = weekly_figures(held.pattern, monday, len(planned_on))
                if figures:
                    yield MealWeek(meal, monday, tuple(planned_on), figures)

    def _found(self) -> dict[tuple[int, int], list[Stop]]:
        """What the standing check says, by child and serving."""
        found: dict[tuple[int, int], list[Stop]] = {}
        for row in find_exceptions(None, ExceptionFilter(self.first, self.last, site=self.site)):
            found.setdefault((row.child.pk, row.serving.pk), []).append(Stop(row.restriction.substance, row.outcome))
        return found

    def _meal(self, day: date, meal: str, servings: list[Serving]) -> MealFacts:
        known = {each.recipe_id for each in servings}
        on_hand = {
            each.recipe_id: each
            for each in self.alternatives
            if each.is_on_hand(day, meal) and each.recipe_id not in known
        }
        held = self.patterns.on(meal, day)
        offered = planned_brings(servings, self.known, self.patterns.on(meal, monday_of(day)))
        all_brings: dict[int, Brings] = {**offered, **{pk: self.brings[each.pk] for pk, each in on_hand.items()}}
        there = {stay.child_id: stay.classroom_id for stay in reversed(self.stays) if stay.holds_on(day)}
        restricted = self._restricted(day, servings, there)
        stops = {child: self._stops(child, day, servings, list(on_hand)) for child in restricted}
        return MealFacts(
            day=day,
            meal=meal,
            servings=tuple(servings),
            on_hand=tuple(on_hand.values()),
            foods={pk: each.food for pk, each in all_brings.items()},
            asked={pk: each.asked for pk, each in all_brings.items() if each.asked},
            needs=needs(held.pattern if held else None, day, [each.food for each in offered.values()]),
            program=f"{held.pattern.title}, {held.group}" if held else "",
            classrooms={child: there[child] for child in restricted},
            stops=stops,
            children=len(there),
            unchecked=tuple(each.recipe_id for each in servings if each.pk not in self.checked and day <= self.reach),
            is_outlook=day > self.reach and any(each.pk not in self.checked for each in servings),
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
        held = [each for each in self._held(day) if each.restriction.child_id == child]
        types = {(each.restriction.substance, each.type) for each in held}
        meal = frozenset([*(each.recipe_id for each in servings), *on_hand])

        def judged(recipe: int) -> set[Stop]:
            found = {Stop(substance, self.judge.outcome(recipe, kind, meal)) for substance, kind in types}
            return {stop for stop in found if stop.outcome is not Outcome.NONE_FOUND}

        stops: dict[int, set[Stop]] = {}
        for serving in servings:
            if serving.pk in self.checked:
                stops[serving.recipe_id] = set(self.found.get((child, serving.pk), []))
            else:
                stops[serving.recipe_id] = judged(serving.recipe_id) if day > self.reach else {UNCHECKED}
        for recipe in on_hand:
            stops[recipe] = judged(recipe) | set(self.fitting.stops(child, recipe, day))
        return {recipe: tuple(sorted(found)) for recipe, found in stops.items() if found}
