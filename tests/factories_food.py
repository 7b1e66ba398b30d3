"""One factory a model of food, and of who writes it down. Defaults make a row that stands by itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time, timedelta
from typing import Any

import factory
from biip.checksums import gs1_standard_check_digit
from django.utils import timezone
from factory.django import DjangoModelFactory

from menus.gtin import parse_gtin
from menus.labels.lexicon import words_of
from menus.models import (
    Action,
    Alternative,
    Closure,
    CycleEntry,
    CycleMenu,
    Delivery,
    Label,
    LabelPhoto,
    Meal,
    PlanStep,
    Product,
    Recipe,
    RecipeLine,
    RecipeVersion,
    Sense,
    Serving,
    Site,
    Supplier,
    Surface,
    Weekday,
    Word,
    WordReview,
    WordWithdrawal,
)
from roster.models import (
    User,
)

PASSWORD = "a tray of cupcakes"
"""The password of every account that the factories make."""


def gtin(number: int) -> str:
    """Return the number-th GTIN of GS1 prefix 952, which is kept for demonstrations and examples."""
    digits = f"952{number:09d}"
    return parse_gtin(digits + str(gs1_standard_check_digit(digits)))


def this_monday() -> date:
    """Return the Monday of the current week."""
    today = timezone.localdate()
    return today - timedelta(days=today.weekday())


class UserFactory(DjangoModelFactory[User]):
    """An account with PASSWORD and no post: it may see nothing."""

    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"user-{n}")
    email = factory.LazyAttribute(lambda user: f"{user.username}@example.org")
    password = factory.django.Password(PASSWORD)


class SiteFactory(DjangoModelFactory[Site]):
    """A site on the clock by which tests tell the date: at its own, half of them would fail in its evening."""

    class Meta:
        model = Site

    time_zone = "UTC"
    code = factory.Sequence(lambda n: f"site-{n}")
    name = factory.Sequence(lambda n: f"Site {n}")


class SupplierFactory(DjangoModelFactory[Supplier]):
    class Meta:
        model = Supplier

    name = factory.Sequence(lambda n: f"Supplier {n}")


class ProductFactory(DjangoModelFactory[Product]):
    """A product without a label; see `labelled` for one with."""

    class Meta:
        model = Product

    code = factory.Sequence(lambda n: f"P{n:04d}")
    name = factory.Sequence(lambda n: f"Product {n}")
    supplier = factory.SubFactory(SupplierFactory)

    class Params:
        with_gtin = factory.Trait(gtin=factory.Sequence(gtin))


class LabelFactory(DjangoModelFactory[Label]):
    """The next label version of its product, read today."""

    class Meta:
        model = Label

    product = factory.SubFactory(ProductFactory)
    number = factory.LazyAttribute(lambda label: label.product.labels.count() + 1)
    ingredients = "rice, water, salt"
    seen_on = factory.LazyFunction(timezone.localdate)


def labelled(ingredients: str, *, name: str = "", label: dict[str, Any] | None = None, **product: Any) -> Product:
    """Return a product with one label that lists these ingredients; `label` holds the label's other fields."""
    made = ProductFactory.create(**({"name": name} if name else {}), **product)
    LabelFactory.create(product=made, ingredients=ingredients, **(label or {}))
    return made


class RecipeFactory(DjangoModelFactory[Recipe]):
    """A recipe without a version; see `cooked` for one with."""

    class Meta:
        model = Recipe

    code = factory.Sequence(lambda n: f"recipe-{n}")
    name = factory.Sequence(lambda n: f"Recipe {n}")


class RecipeVersionFactory(DjangoModelFactory[RecipeVersion]):
    """The next version of its recipe, without lines."""

    class Meta:
        model = RecipeVersion

    recipe = factory.SubFactory(RecipeFactory)
    number = factory.LazyAttribute(lambda version: version.recipe.versions.count() + 1)
    servings = 50


class RecipeLineFactory(DjangoModelFactory[RecipeLine]):
    """The next line of its version: a product, unless `sub_recipe` is given."""

    class Meta:
        model = RecipeLine

    version = factory.SubFactory(RecipeVersionFactory)
    position = factory.LazyAttribute(lambda line: line.version.lines.count() + 1)
    sub_recipe = None
    product = factory.Maybe("sub_recipe", None, factory.SubFactory(ProductFactory))
    quantity = 1
    unit = "kg"


def cooked(
    name: str, *parts: Product | Recipe, servings: int = 50, texture: int | None = None, **recipe: Any
) -> Recipe:
    """Return a recipe with one version, one line for each product or other recipe."""
    made = RecipeFactory.create(name=name, **recipe)
    recook(made, parts, servings=servings, texture=texture)
    return made


def recook(
    recipe: Recipe, parts: Iterable[Product | Recipe], *, servings: int = 50, texture: int | None = None
) -> RecipeVersion:
    """Add the next version of a recipe, one line for each product or other recipe."""
    version = RecipeVersionFactory.create(recipe=recipe, servings=servings, texture=texture)
    for part in parts:
        field = "product" if isinstance(part, Product) else "sub_recipe"
        RecipeLineFactory.create(version=version, **{field: part})
    return version


class CycleMenuFactory(DjangoModelFactory[CycleMenu]):
    """A cycle whose week 1 is the current week."""

    class Meta:
        model = CycleMenu

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Cycle {n}")
    weeks = 4
    starts_on = factory.LazyFunction(this_monday)


class ClosureFactory(DjangoModelFactory[Closure]):
    """A week without meals that begins today."""

    class Meta:
        model = Closure

    site = factory.SubFactory(SiteFactory)
    first_day = factory.LazyFunction(timezone.localdate)
    last_day = factory.LazyAttribute(lambda row: row.first_day + timedelta(days=6))
    reason = "winter break"


class CycleEntryFactory(DjangoModelFactory[CycleEntry]):
    class Meta:
        model = CycleEntry

    cycle = factory.SubFactory(CycleMenuFactory)
    week = 1
    weekday = Weekday.MONDAY
    meal = Meal.LUNCH
    recipe = factory.SubFactory(RecipeFactory)


class ServingFactory(DjangoModelFactory[Serving]):
    """A dish at today's lunch, entered by hand."""

    class Meta:
        model = Serving

    site = factory.SubFactory(SiteFactory)
    date = factory.LazyFunction(timezone.localdate)
    meal = Meal.LUNCH
    recipe = factory.SubFactory(RecipeFactory)


class AlternativeFactory(DjangoModelFactory[Alternative]):
    """A dish on hand from this week on, as much of it as is wanted."""

    class Meta:
        model = Alternative

    site = factory.SubFactory(SiteFactory)
    recipe = factory.SubFactory(RecipeFactory)
    starts_on = factory.LazyFunction(this_monday)


class SurfaceFactory(DjangoModelFactory[Surface]):
    class Meta:
        model = Surface

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Board {n}")
    material = Surface.Material.NON_POROUS


class PlanStepFactory(DjangoModelFactory[PlanStep]):
    """A use of a surface for a dish at lunch; `cleaning=True` makes it a full wash."""

    class Meta:
        model = PlanStep

    class Params:
        cleaning = factory.Trait(action=Action.CLEAN, recipe=None, method="wash_rinse_sanitize")

    surface = factory.SubFactory(SurfaceFactory)
    site = factory.SelfAttribute("surface.site")
    meal = Meal.LUNCH
    at = time(10, 0)
    action = Action.USE
    recipe = factory.SubFactory(RecipeFactory)


class DeliveryFactory(DjangoModelFactory[Delivery]):
    """One dish of a lunch, cooked at one site for another."""

    class Meta:
        model = Delivery

    kitchen = factory.SubFactory(SiteFactory)
    site = factory.SubFactory(SiteFactory)
    meal = Meal.LUNCH
    recipe = factory.SubFactory(RecipeFactory)


class WordFactory(DjangoModelFactory[Word]):
    """A word of a label that waits for licensed staff, proposed as an ordinary ingredient."""

    class Meta:
        model = Word

    phrase = "zorbalex"
    label = factory.SubFactory(LabelFactory, ingredients=factory.SelfAttribute("..phrase"))
    key = factory.LazyAttribute(lambda word: " ".join(words_of(word.phrase)))
    sense = Sense.NONE
    reason = "A plant gum, says the maker."
    looked_up = "The maker's letter"
    proposed_by = factory.SubFactory(UserFactory)


class WordReviewFactory(DjangoModelFactory[WordReview]):
    """The acceptance of a word as it was proposed."""

    class Meta:
        model = WordReview

    word = factory.SubFactory(WordFactory)
    accepted = True
    sense = factory.SelfAttribute("word.sense")
    substances = factory.SelfAttribute("word.substances")
    source = "The maker's letter"
    reviewed_by = factory.SubFactory(UserFactory)
    signature = "A. Example, RD"


class WordWithdrawalFactory(DjangoModelFactory[WordWithdrawal]):
    """The end of an acceptance."""

    class Meta:
        model = WordWithdrawal

    review = factory.SubFactory(WordReviewFactory)
    reason = "The maker says otherwise now."
    withdrawn_by = factory.SubFactory(UserFactory)
    signature = "A. Example, RD"


class LabelPhotoFactory(DjangoModelFactory[LabelPhoto]):
    """A white photo of a label, typed from by who took it."""

    class Meta:
        model = LabelPhoto

    label = factory.SubFactory(LabelFactory)
    site = factory.SubFactory(SiteFactory)
    image = factory.django.ImageField(width=200, height=120, color="white")
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    width, height = 200, 120
    taken_by = factory.SubFactory(UserFactory)
    confirmed_by = factory.SelfAttribute("taken_by")
