"""The cycle menu checked: how many children at which outcome for each dish, and which labels are wanted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.food import is_stale, reading
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.models import Product, RecipeLine, RecipeVersion, Serving, Site
from roster.models import User


@dataclass
class Cell:
    """One serving, with the children it concerns by outcome; `checked` is False until a run has read it."""

    serving: Serving
    checked: bool
    withhold: set[int] = field(default_factory=set)
    refer: set[int] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Grid:
    """The servings of a site between two days, and the newest run that they were checked by."""

    cells: list[Cell]
    run: Run | None


def cycle_grid(user: User | None, site: Site, first: date, last: date) -> Grid:
    """Return every planned serving with its counts of children. A child counts once a dish, at its gravest outcome."""
    servings = (
        Serving.objects.planned().filter(site=site).between(first, last).select_related("recipe").order_by("date", "pk")
    )
    checked = set(
        Serving.objects.filter(site=site, served__standing=True).between(first, last).values_list("pk", flat=True)
    )
    cells = {serving.pk: Cell(serving, serving.pk in checked) for serving in servings}
    for row in find_exceptions(user, ExceptionFilter(first, last, site=site)):
        cell = cells[row.serving.pk]
        (cell.withhold if row.outcome is Outcome.WITHHOLD else cell.refer).add(row.child.pk)
    for cell in cells.values():
        cell.refer -= cell.withhold
    return Grid(list(cells.values()), Run.objects.newest_for(site))


def serving_exceptions(user: User | None, serving: Serving) -> list[ExceptionRow]:
    """Return the exceptions of one serving."""
    asked = ExceptionFilter(serving.date, serving.date, site=serving.site)
    return [row for row in find_exceptions(user, asked) if row.serving.pk == serving.pk]


@dataclass(frozen=True, slots=True)
class LabelWork:
    """A product whose label somebody must read, and how many recipes wait for it."""

    product: Product
    problem: str  # "missing" | "stale" | "unread"
    words: tuple[str, ...]
    dishes: int


PROBLEMS = ("missing", "unread", "stale")


def label_work(site: Site) -> list[LabelWork]:
    """Return the products in use at the site whose labels are missing, out of date or not understood.

    Those that most recipes wait for come first. Three queries.
    """
    now = timezone.now()
    today = now.astimezone(site.zone).date()
    uses = _uses(now)
    work = [
        LabelWork(product, problem, words, uses[product.pk])
        for product in Product.objects.for_kitchen().filter(pk__in=uses).with_label(now).select_related("supplier")
        for problem, words in _problems(product, today, site)
    ]
    return sorted(work, key=lambda each: (-each.dishes, PROBLEMS.index(each.problem), each.product.name))


def _uses(now: datetime) -> dict[int, int]:
    current = RecipeVersion.objects.current(now)
    uses: dict[int, set[int]] = {}
    lines = RecipeLine.objects.filter(version__in=current, product__isnull=False)
    for product, recipe in lines.values_list("product_id", "version__recipe_id"):
        uses.setdefault(product, set()).add(recipe)
    return {product: len(recipes) for product, recipes in uses.items()}


def _problems(product: Product, today: date, site: Site) -> Iterable[tuple[str, tuple[str, ...]]]:
    if not product.current_labels:
        yield "missing", ()
        return
    label = product.current_labels[0]
    unread = reading(label, site=site).unread
    if unread:
        yield "unread", tuple(span.words for span in unread)
    if is_stale(label, today):
        yield "stale", ()
