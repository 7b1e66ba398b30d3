"""A small district, and edits of it that go the way every edit goes: through the services, which say what is new."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from random import Random

from django.core.exceptions import ValidationError
from django.utils import timezone

from compliance.models import ServedDish
from menus.labels.evidence import Kind
from menus.models import Deed, Meal, Product, Recipe, Serving, Site
from menus.models.site import Jurisdiction
from menus.services.kitchen import Doing, record_event
from menus.services.labels import record_label
from menus.services.recipes import Line, record_recipe
from menus.services.words import propose_word, review_word, withdraw_word
from menus.signals import facts_changed
from roster.enrolling import enrol
from roster.models import Child, Classroom, Restriction, User
from roster.services import record_restriction, sign_allowance
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    ClosureFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    DeliveryFactory,
    EnrolmentFactory,
    LabelFactory,
    PlanStepFactory,
    ProductFactory,
    RecipeFactory,
    RecipeLineFactory,
    RecipeVersionFactory,
    RestrictionFactory,
    ServingFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)

TEXTS = (
    "rice, water, salt",
    "wheat flour, milk powder, salt",
    "peanuts, sugar",
    "rice, natural flavor",
    "water, zorblin",
    "sugar, milk, kelvarn extract",
)
SUBSTANCES = ("milk", "peanut", "wheat", "gluten", "soy", "meat-with-milk")


@dataclass
class District:
    """Four sites: the first cooks for the second on equipment of its own, the third lies under another law."""

    sites: list[Site]
    rooms: list[Classroom]
    products: list[Product]
    recipes: list[Recipe]
    children: list[Child]
    user: User
    accepted: list[object] = field(default_factory=list)


def district() -> District:
    """Write the district, with servings on three days."""
    sites = [SiteFactory(), SiteFactory(), SiteFactory(jurisdiction=Jurisdiction.EU), SiteFactory()]
    products = [ProductFactory() for _ in range(4)]
    for product, text in zip(products, TEXTS, strict=False):
        LabelFactory(product=product, ingredients=text)
    recipes = [RecipeFactory() for _ in range(5)]
    for recipe, parts in zip(recipes, ([0], [1, 2], [3], [0], []), strict=True):
        version = RecipeVersionFactory(recipe=recipe)
        for part in parts:
            RecipeLineFactory(version=version, product=products[part])
    RecipeLineFactory(version=recipes[3].versions.get(), sub_recipe=recipes[1])
    today = timezone.now().date()
    for number, site in enumerate(sites):
        for day in range(3):
            for recipe in (recipes[(number + day) % 5], recipes[(number + day + 1) % 5]):
                ServingFactory(site=site, date=today + timedelta(days=day), recipe=recipe)
    surface = SurfaceFactory(site=sites[0])
    PlanStepFactory(surface=surface, recipe=recipes[0])
    PlanStepFactory(surface=surface, recipe=recipes[1])
    DeliveryFactory(kitchen=sites[0], site=sites[1], meal=Meal.LUNCH, recipe=recipes[1])
    rooms = [ClassroomFactory(site=site) for site in sites]
    children = [ChildFactory() for _ in range(6)]
    for number, child in enumerate(children):
        EnrolmentFactory(child=child, classroom=rooms[number % 4])
        RestrictionFactory(child=child, substance=SUBSTANCES[number % 4])
    return District(sites, rooms, products, recipes, children, UserFactory())


def _label(here: District, deal: Random) -> None:
    record_label(product=deal.choice(here.products), ingredients=deal.choice(TEXTS), seen_on=timezone.now().date())


def _recipe(here: District, deal: Random) -> None:
    lines = [Line(Decimal(1), "kg", product=deal.choice(here.products))]
    if deal.random() < 0.4:
        lines.append(Line(Decimal(1), "kg", sub_recipe=deal.choice(here.recipes)))
    try:
        record_recipe(recipe=deal.choice(here.recipes), servings=10, lines=lines)
    except ValidationError:  # it would hold itself
        return


def _restriction(here: District, deal: Random) -> None:
    record_restriction(child=deal.choice(here.children), substance=deal.choice(SUBSTANCES))


def _allowance(here: District, deal: Random) -> None:
    restriction = deal.choice(list(Restriction.objects.filter(replaced_by=None)))
    product = deal.choice(here.products)
    today = timezone.now().date()
    try:
        sign_allowance(
            restriction=restriction,
            kind=Kind.UNREAD_WORD if deal.random() < 0.5 else Kind.NAMED,
            about="",
            term="",
            label=product.labels.latest("number"),
            starts_on=today,
            ends_on=today + timedelta(days=60),
            signed_by=here.user,
            signature="A. Example, RD",
        )
    except ValidationError:  # it cannot be allowed
        return


def _enrolment(here: District, deal: Random) -> None:
    child = ChildFactory()
    record_restriction(child=child, substance=deal.choice(SUBSTANCES))
    enrol(child=child, classroom=deal.choice(here.rooms), starts_on=timezone.localdate())


def _serving(here: District, deal: Random) -> None:
    day = timezone.now().date() + timedelta(days=deal.randrange(3))
    serving, made = Serving.objects.get_or_create(
        site=deal.choice(here.sites), date=day, meal=Meal.SNACK, recipe=deal.choice(here.recipes), withdrawn_at=None
    )
    if not made:
        serving.withdrawn_at = timezone.now()
        serving.save()
    facts_changed.send(sender=Serving, instance=serving)


def _event(here: District, deal: Random) -> None:
    kitchen = deal.choice(here.sites)
    serving = deal.choice(list(Serving.objects.filter(site=kitchen, withdrawn_at=None)))
    out, into = deal.sample(here.products, 2)
    record_event(
        site=kitchen,
        user=here.user,
        doing=Doing(Deed.SWAP, serving=serving, product_out=out, product_in=into),
        happened_at=timezone.now() - timedelta(seconds=1),
    )


def _delivery(here: District, deal: Random) -> None:
    kitchen, site = deal.sample(here.sites, 2)
    delivery = DeliveryFactory.build(kitchen=kitchen, site=site, meal=Meal.LUNCH, recipe=deal.choice(here.recipes))
    try:
        delivery.full_clean()
    except ValidationError:  # it is delivered there already
        return
    delivery.save()
    facts_changed.send(sender=type(delivery), instance=delivery)


def _closure(here: District, deal: Random) -> None:
    closure = ClosureFactory(site=deal.choice([*here.sites, None]))
    facts_changed.send(sender=type(closure), instance=closure)


def _cycle(here: District, deal: Random) -> None:
    cycle = CycleMenuFactory(site=deal.choice(here.sites))
    CycleEntryFactory(cycle=cycle, weekday=timezone.now().weekday(), recipe=deal.choice(here.recipes))
    facts_changed.send(sender=type(cycle), instance=cycle)


def _word(here: District, deal: Random) -> None:
    if here.accepted and deal.random() < 0.5:
        word = here.accepted.pop()
        withdraw_word(word=word, reason="a slip", withdrawn_by=here.user, signature="A. Example, RD")
        return
    label = LabelFactory(product=deal.choice(here.products), ingredients="water, zorblin, zorblim")
    facts_changed.send(sender=type(label), instance=label)
    try:
        word = propose_word(
            label=label,
            phrase="zorblin",
            sense="named",
            substances=["milk"],
            reason="asked the maker",
            looked_up="the maker's answer",
            proposed_by=here.user,
        )
    except ValidationError:  # it is accepted already
        return
    review_word(
        word=word,
        accepted=True,
        sense="named",
        substances=["milk"],
        source="the maker's answer",
        seen=(),
        reviewed_by=here.user,
        signature="A. Example, RD",
    )
    here.accepted.append(word)


EDITS: dict[str, Callable[[District, Random], None]] = {
    "label": _label,
    "recipe": _recipe,
    "restriction": _restriction,
    "allowance": _allowance,
    "enrolment": _enrolment,
    "serving": _serving,
    "event": _event,
    "delivery": _delivery,
    "closure": _closure,
    "cycle": _cycle,
    "word": _word,
}


def standing(sites: list[Site]) -> dict[int, dict[int, str]]:
    """The key of the dish that stands for each serving, by site."""
    found: dict[int, dict[int, str]] = {site.pk: {} for site in sites}
    rows = ServedDish.objects.filter(serving__site__in=found, serving__withdrawn_at=None)
    for site, serving, key in rows.values_list("serving__site", "serving", "dish__key"):
        found[site][serving] = key
    return found
