"""Record recipe versions, refusing recipes that hold themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from menus.kitchen.graph import RecipeCycle, check_acyclic
from menus.models import Product, Recipe, RecipeLine, RecipeVersion
from menus.signals import facts_changed


@dataclass(frozen=True, slots=True)
class Line:
    """One line to be recorded: a product or a recipe, and how much of it."""

    quantity: Decimal
    unit: str
    product: Product | None = None
    sub_recipe: Recipe | None = None
    note: str = ""


@transaction.atomic
def record_recipe(*, recipe: Recipe, servings: int, lines: Sequence[Line], texture: int | None = None) -> RecipeVersion:
    """Keep the lines as the recipe's newest version; `texture` is its level as made, None where nobody stated it.

    Raises ValidationError when there is no line, when a line is not valid or holds a treat, or when the recipe would
    come to hold itself; the message then names the path.
    """
    if treat := next((line.product for line in lines if line.product and line.product.is_treat), None):
        raise ValidationError(
            "“%(treat)s” was brought to a classroom, and its words were pasted there. "
            "Add it to the kitchen's products and read its label first.",
            code="recipe-treat",
            params={"treat": treat},
        )
    if not lines:
        raise ValidationError("A recipe needs at least one line. Add what goes into it.", code="recipe-empty")
    recipe = Recipe.objects.select_for_update().get(pk=recipe.pk)
    _refuse_cycle(recipe, lines)
    newest = recipe.versions.aggregate(Max("number"))["number__max"] or 0
    version = RecipeVersion(recipe=recipe, number=newest + 1, servings=servings, texture=texture)
    version.full_clean()
    version.save()
    rows = [
        RecipeLine(
            version=version,
            position=position,
            product=line.product,
            sub_recipe=line.sub_recipe,
            quantity=line.quantity,
            unit=line.unit,
            note=line.note,
        )
        for position, line in enumerate(lines, start=1)
    ]
    for row in rows:
        row.full_clean(exclude=["version"], validate_unique=False)
    RecipeLine.objects.bulk_create(rows)
    facts_changed.send(sender=RecipeVersion, instance=version)
    return version


@transaction.atomic
def state_texture(*, recipe: Recipe, texture: int | None, seen: int) -> RecipeVersion:
    """Keep the recipe's lines as a new version that states this level as made, or none.

    Raises ValidationError when its newest version is not the one numbered `seen`, or states that level already.
    """
    Recipe.objects.select_for_update().get(pk=recipe.pk)
    newest = recipe.versions.order_by("-number").first()
    if newest is None or newest.number != seen:
        raise ValidationError(
            "The recipe was changed meanwhile, and a level holds for one version of it. Look at it again, then state "
            "the level once more.",
            code="stale",
        )
    if newest.texture == texture:
        raise ValidationError("The recipe says so already.", code="same")
    held = newest.lines.select_related("product", "sub_recipe")
    lines = [Line(each.quantity, each.unit, each.product, each.sub_recipe, each.note) for each in held]
    return record_recipe(recipe=recipe, servings=newest.servings, lines=lines, texture=texture)


def recipe_graph() -> dict[int, list[int]]:
    """Return for each recipe the recipes that its current version holds. Two queries."""
    graph: dict[int, list[int]] = {}
    current = RecipeVersion.objects.current(timezone.now())
    lines = RecipeLine.objects.filter(version__in=current, sub_recipe__isnull=False)
    for holder, held in lines.values_list("version__recipe_id", "sub_recipe_id"):
        graph.setdefault(holder, []).append(held)
    return graph


def _refuse_cycle(recipe: Recipe, lines: Sequence[Line]) -> None:
    graph = recipe_graph()
    graph[recipe.pk] = [line.sub_recipe.pk for line in lines if line.sub_recipe]
    try:
        check_acyclic(graph, [recipe.pk])
    except RecipeCycle as cycle:
        names: dict[object, str] = dict(Recipe.objects.filter(pk__in=graph).values_list("pk", "name"))
        raise ValidationError(
            "This recipe would hold itself: %(path)s. Take one of these out of the other.",
            code="recipe-cycle",
            params={"path": " → ".join(names[pk] for pk in cycle.path)},
        ) from cycle
