"""One exception: a child, a serving and a restriction that do not go together, as reports list it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from compliance.checks.questions import is_open, subject_of
from compliance.checks.reasons import Reason
from compliance.checks.unread import NOT_READ
from compliance.checks.why import Why
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.models import Serving, Site
from menus.substances.catalogue import Catalogue
from roster.models import Child, Classroom, Restriction


@dataclass(frozen=True, slots=True)
class ExceptionRow:
    """One child, one serving, one restriction, and why they do not go together."""

    serving: Serving
    classroom: Classroom
    child: Child
    restriction: Restriction
    outcome: Outcome
    why: Why = field(compare=False, repr=False)
    run: Run
    seen_to: tuple[str, ...] = ()  # what no check looks for, where somebody asks for it too (`with_seen_to`)

    @property
    def date(self) -> date:
        return self.serving.date

    @property
    def meal(self) -> str:
        return self.serving.get_meal_display()

    @property
    def site(self) -> Site:
        return self.serving.site

    @property
    def dish(self) -> str:
        return self.serving.recipe.name

    @property
    def substance_name(self) -> str:
        return Catalogue.load().get(self.restriction.substance).name

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Every reason, the gravest first, those allowed last. Worked out when somebody looks."""
        return self.why()

    @property
    def main_reason(self) -> Reason:
        return self.reasons[0]

    @property
    def open_reasons(self) -> tuple[Reason, ...]:
        """Where it is `refer`: what licensed staff are asked about. Nothing, where only the next check is wanting."""
        if self.outcome is not Outcome.REFER or self.main_reason is NOT_READ:
            return ()
        return tuple(filter(is_open, self.reasons))

    @property
    def lifted(self) -> tuple[Reason, ...]:
        """What an allowance covers and what would else have been graver: where it shows, it shows as applied."""
        return tuple(reason for reason in self.reasons if reason.allowed and reason.outcome > self.outcome)

    @property
    def waits_for(self) -> tuple[str, ...]:
        """The subjects to be settled first. Rows of one restriction with the same wait for the same answers."""
        avoided = self.restriction.substance
        subjects = {subject_of(reason, avoided, self.food(reason)) for reason in self.open_reasons}
        return tuple(sorted(subjects))

    def food(self, reason: Reason) -> str:
        """Return the name of what the reason speaks of: the product, or else the dish."""
        return reason.name_of("product") or self.dish
