"""Sites, suppliers, products, labels, recipes, cycle menus, servings and the kitchen's equipment, as stored."""

from menus.models.cycle import CycleEntry, CycleMenu, Meal, Weekday
from menus.models.kitchen import Action, PlanStep, Surface
from menus.models.label import Label
from menus.models.product import Product, Supplier
from menus.models.recipe import Recipe, RecipeLine, RecipeVersion
from menus.models.serving import Serving
from menus.models.site import Site

__all__ = [
    "Action",
    "CycleEntry",
    "CycleMenu",
    "Label",
    "Meal",
    "PlanStep",
    "Product",
    "Recipe",
    "RecipeLine",
    "RecipeVersion",
    "Serving",
    "Site",
    "Supplier",
    "Surface",
    "Weekday",
]
