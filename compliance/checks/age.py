"""Choking by age: what to cut, cook or leave out for the children who are there on the day.

Notices beside the outcomes, not outcomes: they rest on the youngest child present, not on any restriction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.utils import timezone

from compliance.checks.food import reading
from menus.labels.cues import Voice
from menus.labels.lexicon import Lexicon
from menus.labels.tree import Node
from menus.lexicon import lexicon_at
from menus.mealpattern.age import months_on
from menus.mealpattern.choking import WEIGHT, Choking, Food, choking, choking_in_dish
from menus.mealpattern.hazards import grown
from menus.models import Label, Product, RecipeLine, RecipeVersion, Serving, Site
from roster.models import Enrolment

Births = Sequence[date | None]

_DEEPEST = 20
"""How far brackets within brackets and recipes within recipes are followed for names."""


@dataclass(frozen=True, slots=True)
class AgeNotice:
    """One food that young children choke on, and what to do for those who are there."""

    food: str
    words: str  # as the label, the recipe or the teacher says it
    advice: str  # "ask" | "change" | "leave-out"
    ages: str
    children: int  # present and under that age, or of unknown age
    what: str
    source: str
    verified: str  # "read" | "memory"

    @property
    def json(self) -> dict[str, Any]:
        """The notice as plain values."""
        return asdict(self)


def births_at(site: Site, day: date) -> list[date | None]:
    """Return the birth dates of the children of the site on that day. One query."""
    stays = Enrolment.objects.on(day).filter(classroom__site=site)
    return list(stays.order_by().values_list("child__birth_date", flat=True))


def food_notices(
    food: str, label: Label | None, births: Births, day: date, site: Site, lexicon: Lexicon
) -> list[AgeNotice]:
    """Return the notices for a food by its name and its label, for children with these birth dates. No query."""
    if not births:
        return []
    foods = [Food(food), *(_listed(label, (food,), site, lexicon) if label else ())]
    return _notices(choking(foods, youngest=_youngest(births, day), place=site.jurisdiction), births, day)


def packed_notices(
    foods: Sequence[Food], label: Label | None, birth: date | None, day: date, site: Site, lexicon: Lexicon
) -> list[AgeNotice]:
    """Return the notices for one food of one child's box: ways to name it, and its label if it has one. No query."""
    within = (foods[0].words,) if foods else ()
    listed = list(_listed(label, within, site, lexicon, form=foods[0].form if foods else "")) if label else []
    found = choking([*foods, *listed], youngest=months_on(birth, day), place=site.jurisdiction)
    return _notices(found, [birth], day)


def serving_notices(servings: Iterable[Serving], births: Births, day: date, site: Site) -> dict[int, list[AgeNotice]]:
    """Return the notices for the dishes of one day at one site, by serving.

    Four queries, whatever the number of dishes; none where everybody is too old for any notice. Recipes and labels
    are those recorded by now: a notice is for whoever prepares the dish.
    """
    wanted = list(servings)
    youngest = _youngest(births, day)
    if not births or not wanted or (youngest is not None and youngest >= grown(site.jurisdiction)):
        return {serving.pk: [] for serving in wanted}
    book = Book.open(site)
    return {
        serving.pk: _notices(
            choking_in_dish(
                serving.recipe.name,
                list(book.parts(serving.recipe_id, (serving.recipe.name,))),
                youngest=youngest,
                place=site.jurisdiction,
            ),
            births,
            day,
        )
        for serving in wanted
    }


@dataclass(frozen=True, slots=True)
class Book:
    """The lines of every recipe as they stand now, with the labels of their products."""

    site: Site
    lexicon: Lexicon
    lines: dict[int, list[RecipeLine]]
    products: dict[int, Product]

    @classmethod
    def open(cls, site: Site) -> Book:
        now = timezone.now()
        rows = RecipeLine.objects.filter(version__in=RecipeVersion.objects.current(now))
        lines: dict[int, list[RecipeLine]] = {}
        for line in rows.select_related("version", "sub_recipe"):
            lines.setdefault(line.version.recipe_id, []).append(line)
        return cls(site, lexicon_at(now), lines, {product.pk: product for product in Product.objects.with_label(now)})

    def parts(self, recipe: int, within: tuple[str, ...]) -> Iterator[Food]:
        """Yield what a recipe holds: products with the form their line states, and what their labels list."""
        for line in self.lines.get(recipe, ()):
            if line.sub_recipe is not None and len(within) < _DEEPEST:
                yield from self.parts(line.sub_recipe.pk, (*within, line.sub_recipe.name))
            elif line.product_id is not None:
                product = self.products[line.product_id]
                yield Food(product.name, form=line.note, within=within)
                for label in product.current_labels:
                    yield from _listed(label, (*within, product.name), self.site, self.lexicon, form=line.note)


def _youngest(births: Births, day: date) -> int | None:
    """Age of the youngest in months; None when somebody's is unknown, for whom the strictest rule applies."""
    ages = [months_on(birth, day) for birth in births]
    known = [age for age in ages if age is not None]
    return min(known) if known and len(known) == len(ages) else None


def _notices(found: Iterable[Choking], births: Births, day: date) -> list[AgeNotice]:
    """The gravest first."""
    ages = [months_on(birth, day) for birth in births]
    return [
        AgeNotice(
            food=each.hazard.food,
            words=each.words,
            advice=each.advice.value,
            ages=each.ages,
            children=sum(age is None or age < each.under for age in ages),
            what=each.what,
            source=each.hazard.source,
            verified=each.hazard.verified,
        )
        for each in sorted(found, key=lambda each: -WEIGHT[each.advice])
    ]


def _listed(label: Label, within: tuple[str, ...], site: Site, lexicon: Lexicon, form: str = "") -> Iterator[Food]:
    """Yield the ingredients that a label lists; what it declares, warns of or denies is another matter."""
    for node in reading(label, lexicon=lexicon, site=site).tree:
        yield from _nodes(node, within, form)


def _nodes(node: Node, within: tuple[str, ...], form: str) -> Iterator[Food]:
    if node.voice is not Voice.INGREDIENT or len(within) > _DEEPEST:
        return
    words = node.span.words
    if node.children:
        words = words[: node.children[0].span.start - node.span.start]
    yield Food(words, form=form, within=within, is_list=True)
    for child in node.children:
        yield from _nodes(child, (*within, words), form)
