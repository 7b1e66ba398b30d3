"""The district's food: the demo's invented products and recipes, each from several invented packers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from random import Random

from compliance.demo.files import Row, rows
from menus.models import Label, Product, Recipe, RecipeLine, RecipeVersion, Supplier
from menus.models.site import Site

PACKERS = 3
"""Each product comes from so many packers, and each recipe is cooked with the products of each."""
OWN_RECIPES = 2
"""So many recipes each site cooks its own way."""
BATCH = 2_000

STATEMENTS = (
    "May contain peanuts and tree nuts.",
    "May contain traces of milk and soy.",
    "Produced on equipment that also processes wheat, egg and sesame.",
    "Made in a facility that also handles fish and shellfish.",
)
"""Precautionary statements of the further packers; two packages in five carry one (invented share)."""
WITH_STATEMENT = 0.4


STAPLE = "Frying and baking oil, for every kitchen"
STAPLE_LABEL = "Canola oil, soybean oil, TBHQ and citric acid (to protect flavor)."
WITH_STAPLE = 0.3
"""In so many recipes there is the one oil that the whole district buys (invented share)."""


@dataclass(slots=True)
class Book:
    """Recipes by the demo's code: one of each packer, in order. And what goes into each, to cook it another way."""

    recipes: dict[str, list[Recipe]] = field(default_factory=dict)
    products: dict[str, list[Product]] = field(default_factory=dict)
    own: dict[int, dict[int, Recipe]] = field(default_factory=dict)  # site → shared recipe → its own
    staple: Product = field(default_factory=lambda: Product(code="staple", name=STAPLE))


def load_food(sites: list[Site], *, today: date, recorded_at: datetime) -> Book:
    """Write suppliers, products with one label each, the shared recipes, and a few of each site's own."""
    book = Book()
    _load_products(book, today, recorded_at)
    _load_recipes(book, sites, recorded_at)
    return book


def _load_products(book: Book, today: date, recorded_at: datetime) -> None:
    deal = Random("labels")
    known = rows("products.csv")
    suppliers = Supplier.objects.bulk_create(Supplier(name=f"Packer {number}") for number in range(1, PACKERS + 1))
    products: list[Product] = []
    labels: list[Label] = []
    for row in known:
        for number, supplier in enumerate(suppliers):
            product = Product(
                code=f"{row['code']}-{number}",
                name=f"{row['name']}, {supplier.name}",
                supplier=supplier,
                jurisdiction=row["jurisdiction"],
                regulator=row["regulator"],
                ready_to_eat=bool(row["ready_to_eat"]),
            )
            products.append(product)
            book.products.setdefault(row["code"], []).append(product)
            if row["seen_days_ago"]:
                labels.append(_label(product, row, number, today, recorded_at, deal))
    labels.append(
        Label(
            product=book.staple,
            number=1,
            ingredients=STAPLE_LABEL,
            seen_on=today - timedelta(days=30),
            recorded_at=recorded_at,
        )
    )
    Product.objects.bulk_create([*products, book.staple], batch_size=BATCH)
    Label.objects.bulk_create(labels, batch_size=BATCH)


def _label(product: Product, row: Row, number: int, today: date, recorded_at: datetime, deal: Random) -> Label:
    stated = row["precautionary"]
    if number and not stated and deal.random() < WITH_STATEMENT:
        stated = deal.choice(STATEMENTS)
    return Label(
        product=product,
        number=1,
        ingredients=row["ingredients"],
        contains=row["contains"],
        precautionary=stated,
        claims=row["claims"],
        seen_on=today - timedelta(days=int(row["seen_days_ago"])),
        recorded_at=recorded_at,
    )


def _load_recipes(book: Book, sites: list[Site], recorded_at: datetime) -> None:
    lines: dict[str, list[Row]] = {}
    for row in rows("recipes.csv"):
        lines.setdefault(row["recipe"], []).append(row)
    for code, held in lines.items():
        book.recipes[code] = [
            Recipe(code=f"{code}-{number}", name=f"{held[0]['name']} ({number + 1})") for number in range(PACKERS)
        ]
    Recipe.objects.bulk_create([each for several in book.recipes.values() for each in several], batch_size=BATCH)
    cooked = {
        each: (lines[code], number) for code, several in book.recipes.items() for number, each in enumerate(several)
    }
    cooked |= _own(book, sites, lines)
    versions = RecipeVersion.objects.bulk_create(
        [
            RecipeVersion(recipe=recipe, number=1, servings=int(held[0]["servings"]), recorded_at=recorded_at)
            for recipe, (held, _) in cooked.items()
        ],
        batch_size=BATCH,
    )
    lines_of = [line for version in versions for line in _lines(book, version, *cooked[version.recipe])]
    deal = Random("staple")
    oiled = [version for version in versions if deal.random() < WITH_STAPLE]
    lines_of += [
        RecipeLine(version=version, position=99, product=book.staple, quantity=Decimal(2), unit="lb")
        for version in oiled
    ]
    RecipeLine.objects.bulk_create(lines_of, batch_size=BATCH)


def _own(book: Book, sites: list[Site], lines: dict[str, list[Row]]) -> dict[Recipe, tuple[list[Row], int]]:
    """Each site's own way of a few dishes: the first packer's recipe, with the products of another."""
    deal = Random("own recipes")
    codes = sorted(code for code in book.recipes if any(row["product"] for row in lines[code]))
    made: dict[Recipe, tuple[list[Row], int]] = {}
    recipes: list[Recipe] = []
    for site in sites:
        for code in deal.sample(codes, OWN_RECIPES):
            shared = book.recipes[code][0]
            recipe = Recipe(code=f"{code}-at-{site.code}", name=f"{shared.name} at {site.name}", site=site)
            book.own.setdefault(site.pk, {})[shared.pk] = recipe
            recipes.append(recipe)
    Recipe.objects.bulk_create(recipes, batch_size=BATCH)
    for recipe in recipes:
        made[recipe] = (lines[recipe.code.rpartition("-at-")[0]], deal.randrange(1, PACKERS))
    return made


def _lines(book: Book, version: RecipeVersion, held: list[Row], packer: int) -> Iterator[RecipeLine]:
    for position, row in enumerate(held, start=1):
        yield RecipeLine(
            version=version,
            position=position,
            product=book.products[row["product"]][packer] if row["product"] else None,
            sub_recipe=book.recipes[row["sub_recipe"]][packer] if row["sub_recipe"] else None,
            quantity=Decimal(row["quantity"]),
            unit=row["unit"],
        )
