"""A small stage for the scenarios: one site, one class, one teacher, the children a case needs; and the two questions.

Every answer comes by the service's own roads: a label recorded with `record_label`, a treat asked about by the teacher
with `check_treat`, a dish cooked of the product and met at a serving after `check_site`.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.run import check_site
from compliance.checks.treat import check_treat
from compliance.models import Run, TreatCheck
from menus.models import Label, Product, Recipe, Serving, Site
from menus.services.labels import record_label
from roster.models import Child, Classroom, Restriction, User
from roster.services import record_restriction
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    PostFactory,
    ProductFactory,
    ServingFactory,
    SiteFactory,
    cooked,
)

NONE_FOUND = "none-found"


def rows(name: str) -> list[dict[str, str]]:
    """Return the cases of a file beside this one."""
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@dataclass(frozen=True)
class Stage:
    """One class at one site, and who teaches it."""

    site: Site
    classroom: Classroom
    teacher: User

    @classmethod
    def set(cls, **site: Any) -> Stage:
        place = SiteFactory(**site)
        classroom = ClassroomFactory(site=place)
        return cls(place, classroom, PostFactory(classroom=classroom).user)

    @property
    def today(self) -> date:
        """Today on the site's clock."""
        return timezone.now().astimezone(self.site.zone).date()

    def child(self, *avoids: str, strictness: str = "trace", **restriction: Any) -> Child:
        """Enrol a child who must avoid these substances."""
        child: Child = ChildFactory()
        EnrolmentFactory(child=child, classroom=self.classroom)
        for substance in avoids:
            self.restrict(child, substance, strictness=strictness, **restriction)
        return child

    def restrict(self, child: Child, substance: str, **fields: Any) -> Restriction:
        """Record a restriction, signed unless the case says otherwise."""
        return record_restriction(child=child, substance=substance, **{"basis": "statement", **fields})

    def treat(self, label: Label | None, *, food: str = "Treat", home_made: bool = False) -> dict[str, Any]:
        """Let the teacher ask about a food for now, and return the recorded answer."""
        check = check_treat(
            user=self.teacher,
            classroom=self.classroom,
            served_at=timezone.now(),
            source=TreatCheck.Source.PASTED if label else TreatCheck.Source.NO_LABEL,
            food=food,
            label=label,
            home_made=home_made,
        )
        answer: dict[str, Any] = check.result
        return answer

    def serve(self, recipe: Recipe, day: date | None = None, **serving: Any) -> Serving:
        """Put a dish on the plan of a day, today by default."""
        planned: Serving = ServingFactory(site=self.site, recipe=recipe, date=day or self.today, **serving)
        return planned

    def check(self, **more: Any) -> Run:
        """Have the site checked, as the kitchen does."""
        return check_site(site=self.site, trigger=Run.Trigger.HAND, **more)

    def met(self, days: int = 14) -> set[tuple[int, str, str, str]]:
        """Return the standing exceptions as (child, dish, substance, outcome)."""
        asked = ExceptionFilter(self.today, self.today + timedelta(days=days), site=self.site)
        return {
            (row.child.pk, row.dish, row.restriction.substance, row.outcome.code)
            for row in find_exceptions(None, asked)
        }

    def at_dish(self, child: Child, dish: str) -> str:
        """Return the gravest outcome of the child at the dish, among what stands."""
        found = {outcome for pk, name, _, outcome in self.met() if (pk, name) == (child.pk, dish)}
        return gravest(found)


def gravest(outcomes: Iterable[str]) -> str:
    """Return the gravest of the outcomes; none at all is `none found`."""
    order = (NONE_FOUND, "refer", "withhold")
    return max(outcomes, key=order.index, default=NONE_FOUND)


def at_treat(answer: dict[str, Any], child: Child) -> str:
    """Return the gravest outcome of the child in a recorded answer."""
    return gravest(
        row["outcome"] for name in ("withhold", "refer") for row in answer[name] if row["child_id"] == child.pk
    )


def labelled_as(case: dict[str, str], **product: Any) -> Product:
    """Record the label that a case describes, through the service."""
    made: Product = ProductFactory(regulator=case.get("regulator", ""), **product)
    seen_on = date.fromisoformat(case["seen_on"]) if case.get("seen_on") else timezone.localdate()
    texts = {part: case[part] for part in ("ingredients", "contains", "precautionary", "claims")}
    record_label(product=made, seen_on=seen_on, **texts)
    return made


def dish_of(product: Product, name: str = "Dish") -> Recipe:
    """Cook a dish of one product."""
    return cooked(name, product)
