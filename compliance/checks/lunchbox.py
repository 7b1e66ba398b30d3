"""What a lunchbox means for its child and its room: the same evidence and rules as a treat check, food by food."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from django.utils import timezone

from compliance.checks.age import AgeNotice, packed_notices
from compliance.checks.lunchcause import Cause, causes_of, causes_together
from compliance.checks.lunchfood import age_foods, balance_food, evidence_of, label_of
from compliance.checks.lunchprotein import Protein, protein_of
from compliance.checks.lunchsetting import Setting, setting_of
from compliance.rules.values import Outcome
from menus.kitchen.recipes import Pieces
from menus.mealpattern.age import months_on
from menus.mealpattern.balance import Advice, balance
from menus.mealpattern.keeping import Keeping, keeping
from menus.models import Product
from roster.life.lunchbox import Packed
from roster.models import Child, Classroom


@dataclass(frozen=True, slots=True)
class JudgedFood:
    """One food of the box with all that was found, the gravest first."""

    packed: Packed
    causes: tuple[Cause, ...]
    notices: tuple[AgeNotice, ...]

    @property
    def outcome(self) -> Outcome:
        """The gravest of all."""
        return max((each.outcome for each in self.causes), default=Outcome.NONE_FOUND)


@dataclass(frozen=True, slots=True)
class BoxAnswer:
    """What is said of a whole box."""

    setting: Setting
    foods: tuple[JudgedFood, ...]
    together: tuple[Cause, ...]  # what the foods of one box mean beside each other
    balance: tuple[Advice, ...]
    protein: Protein | None
    keeping: Keeping

    @property
    def as_of(self) -> datetime:
        """The moment whose facts were read."""
        return self.setting.at

    @property
    def outcome(self) -> Outcome:
        """The gravest of all; an empty box has nothing found."""
        alone = (food.outcome for food in self.foods)
        return max((*alone, *(cause.outcome for cause in self.together)), default=Outcome.NONE_FOUND)


def judge_box(
    child: Child,
    room: Classroom,
    day: date,
    packed: Sequence[Packed],
    *,
    packed_at: time | None = None,
    eaten_at: time | None = None,
    at_temperature: bool = False,
) -> BoxAnswer:
    """Judge the foods for the child in its room on that day, as known now.

    The number of queries does not grow with the box.
    """
    setting = setting_of(child, room, day, timezone.now())
    foods = _with_labels(packed, setting.at)
    pieces = [evidence_of(each, on=day, lexicon=setting.lexicon, site=setting.site) for each in foods]
    judged = tuple(_judged(each, found, setting) for each, found in zip(foods, pieces, strict=True))
    return BoxAnswer(
        setting=setting,
        foods=judged,
        together=causes_together(setting.types, pieces, (cause for food in judged for cause in food.causes)),
        balance=tuple(balance([balance_food(each) for each in foods])) if foods else (),
        protein=protein_of(foods, months_on(child.birth_date, day)),
        keeping=keeping([each.keeps for each in foods], packed_at, eaten_at, at_temperature=at_temperature),
    )


def _judged(packed: Packed, pieces: Pieces, to: Setting) -> JudgedFood:
    label = label_of(packed, to.day)
    notices = packed_notices(age_foods(packed), label, to.child.birth_date, to.day, to.site, to.lexicon)
    return JudgedFood(packed, causes_of(packed, pieces, to), tuple(notices))


def _with_labels(packed: Sequence[Packed], at: datetime) -> list[Packed]:
    """The same foods, their products with the label that stands now. Two queries, none without products."""
    named = {each.product.pk for each in packed if each.product}
    products = {each.pk: each for each in Product.objects.filter(pk__in=named).with_label(at)} if named else {}
    return [replace(each, product=products[each.product.pk]) if each.product else each for each in packed]
