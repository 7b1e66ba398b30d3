"""Where and what the district eats: sites, one cycle menu for all, its servings, and some kitchens' order of work."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, time, timedelta
from random import Random

from compliance.benchmarks.world.food import BATCH, Book
from compliance.demo.files import Row, rows
from menus.models import CycleEntry, CycleMenu, PlanStep, Recipe, Serving, Site, Surface
from menus.models.cycle import Weekday

DISHES = {"breakfast": 5, "lunch": 12, "snack": 3}
"""Dishes a day, choices and sides counted: twenty in all, the planning value of the reference figures (invented)."""
WEEKS = 4
SCHOOL_DAYS = range(Weekday.MONDAY, Weekday.SATURDAY)
ORDER_OF_WORK_EVERY = 10
"""Every so-manieth kitchen has its equipment and its order of work on record."""
FILE_OF = ("cycle_ferrowick.csv", "cycle_tansy_gate.csv")
Entry = tuple[int, int, str, Recipe]  # week, weekday, meal, recipe


def load_sites(count: int) -> list[Site]:
    """Write the sites."""
    made = [Site(code=f"site-{number:05d}", name=f"Site {number:05d}") for number in range(1, count + 1)]
    return Site.objects.bulk_create(made, batch_size=BATCH)


def load_menus(sites: list[Site], book: Book, *, dishes: int, first: date, last: date) -> None:
    """Write every site's cycle menu and what it calls for between two days, both included.

    `dishes`: so many times DISHES a day. Raises ValueError when a meal would have more dishes than there are recipes.
    """
    entries = _dealt(book, dishes)
    starts_on = first - timedelta(days=first.weekday(), weeks=WEEKS)
    cycles = CycleMenu.objects.bulk_create(
        [CycleMenu(site=site, name="District menu", weeks=WEEKS, starts_on=starts_on) for site in sites],
        batch_size=BATCH,
    )
    for begin in range(0, len(cycles), 50):
        some = cycles[begin : begin + 50]
        CycleEntry.objects.bulk_create(
            [
                CycleEntry(cycle=cycle, week=week, weekday=weekday, meal=meal, recipe=_here(book, cycle, recipe))
                for cycle in some
                for week, weekday, meal, recipe in entries
            ],
            batch_size=BATCH,
        )
        Serving.objects.bulk_create(
            [each for cycle in some for each in _servings(book, cycle, entries, first, last)], batch_size=BATCH
        )
    _load_kitchens(sites[::ORDER_OF_WORK_EVERY], book)


def _dealt(book: Book, times: int) -> list[Entry]:
    """The entries of the cycle: what the demo serves at that meal, from whichever packer, no dish twice a meal."""
    deal = Random("cycle")
    served: dict[str, list[Recipe]] = {}
    for code, meal in sorted({(row["recipe"], row["meal"]) for name in FILE_OF for row in rows(name)}):
        served.setdefault(meal, []).extend(book.recipes[code])
    return [
        (week, weekday, meal, recipe)
        for week in range(1, WEEKS + 1)
        for weekday in SCHOOL_DAYS
        for meal, count in DISHES.items()
        for recipe in deal.sample(served[meal], times * count)
    ]


def _here(book: Book, cycle: CycleMenu, recipe: Recipe) -> Recipe:
    return book.own.get(cycle.site_id, {}).get(recipe.pk, recipe)


def _servings(book: Book, cycle: CycleMenu, entries: list[Entry], first: date, last: date) -> Iterator[Serving]:
    for n in range((last - first).days + 1):
        day = first + timedelta(days=n)
        for week, weekday, meal, recipe in entries:
            if weekday == day.weekday() and week == cycle.week_on(day):
                yield Serving(site=cycle.site, date=day, meal=meal, recipe=_here(book, cycle, recipe), cycle=cycle)


def _load_kitchens(sites: list[Site], book: Book) -> None:
    """Write the demo's first kitchen, with its order of work, at each of these sites."""
    kitchen = rows("sites.csv")[0]["code"]
    described = [row for row in rows("surfaces.csv") if row["site"] == kitchen]
    steps = [row for row in rows("order_of_work.csv") if row["site"] == kitchen]
    for site in sites:
        surfaces = Surface.objects.bulk_create(
            Surface(
                site=site,
                name=row["name"],
                kind=row["kind"],
                material=row["material"],
                dedicated_for=row["dedicated_for"],
            )
            for row in described
        )
        at = {surface.name: surface for surface in surfaces}
        PlanStep.objects.bulk_create([step for row in steps for step in _steps(site, row, at[row["surface"]], book)])


def _steps(site: Site, row: Row, surface: Surface, book: Book) -> Iterator[PlanStep]:
    """One step, or where it names a dish, one for each packer's recipe of it: whichever is served goes that way."""
    dishes: list[Recipe | None] = [*book.recipes[row["recipe"]]] if row["recipe"] else [None]
    for dish in dishes:
        yield PlanStep(
            site=site,
            meal=row["meal"],
            at=time.fromisoformat(row["at"]),
            minutes=int(row["minutes"]),
            action=row["action"],
            surface=surface,
            recipe=dish,
            method=row["method"],
        )
