"""A week of a site held against its pattern: the dishes as they are planned, or with some exchanged on trial."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from compliance.web.meals_form import Trial
from menus.mealpattern.patterns.judge import Judged, Judgement, judge
from menus.mealpattern.patterns.tables import Pattern
from menus.models import Meal, Site
from menus.services.weeks import NotJudged, Plate, pattern_week, week_of, with_dish

__all__ = ["Look", "Plate", "look"]


@dataclass(frozen=True, slots=True)
class Look:
    """What there is to show of a week. Without a judgement, `why_not` says why there is none."""

    pattern: Pattern | None
    days: Sequence[date]
    plates: dict[date, list[Plate]]
    judgement: Judgement | None
    before: Judgement | None  # the week as planned, where something is tried out
    tried: tuple[Trial, ...]
    why_not: str = ""

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every figure held against the week."""
        return self.judgement.judged if self.judgement else ()

    @property
    def judged_before(self) -> tuple[Judged, ...]:
        """The same of the week as planned; empty where nothing is tried out."""
        return self.before.judged if self.before else ()


def look(site: Site, monday: date, meal: Meal, trials: Iterable[Trial] = ()) -> Look:
    """Return the week of a meal. Trials for servings of another week are passed over."""
    planned = week_of(site, monday, meal.value)
    servings = {plate.serving_id for _, plates in planned.days for plate in plates}
    tried = tuple(trial for trial in trials if trial.serving in servings)
    shown = planned
    for trial in tried:
        shown = with_dish(shown, trial.serving, trial.recipe)
    judgement: Judgement | None = None
    before: Judgement | None = None
    why_not = ""
    try:
        judgement = judge(pattern_week(shown))
        before = judge(pattern_week(planned)) if tried else None
    except NotJudged as error:
        why_not = str(error) if planned.days else "Nothing of this meal is on the plan in this week."
    return Look(
        pattern=planned.pattern.pattern if planned.pattern else None,
        days=[day for day, _ in shown.days],
        plates=dict(shown.days),
        judgement=judgement,
        before=before,
        tried=tried,
        why_not=why_not,
    )
