"""Sites, suppliers, products, labels, recipes, cycle menus, closures, servings, the kitchen's equipment, as stored."""

from menus.models.alternative import Alternative
from menus.models.calendar import Closure
from menus.models.cycle import CycleEntry, CycleMenu, Meal, Weekday
from menus.models.delivery import Delivery
from menus.models.event import Deed, KitchenEvent
from menus.models.kitchen import Action, PlanStep, Surface
from menus.models.label import Label
from menus.models.nutrition import ProductNutrition
from menus.models.pattern import SitePattern
from menus.models.photo import LabelPhoto, PhotoDraft
from menus.models.product import Product, Supplier
from menus.models.recipe import Recipe, RecipeLine, RecipeVersion
from menus.models.serving import Serving
from menus.models.site import Site
from menus.models.word import Sense, Word, WordReview, WordWithdrawal

__all__ = [
    "Action",
    "Alternative",
    "Closure",
    "CycleEntry",
    "CycleMenu",
    "Deed",
    "Delivery",
    "KitchenEvent",
    "Label",
    "LabelPhoto",
    "Meal",
    "PhotoDraft",
    "PlanStep",
    "Product",
    "ProductNutrition",
    "Recipe",
    "RecipeLine",
    "RecipeVersion",
    "Sense",
    "Serving",
    "Site",
    "SitePattern",
    "Supplier",
    "Surface",
    "Weekday",
    "Word",
    "WordReview",
    "WordWithdrawal",
]
