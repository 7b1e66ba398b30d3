"""The kinds of file that bring facts about food."""

from __future__ import annotations

from menus.imports.closures import CLOSURES
from menus.imports.cycle import CYCLE
from menus.imports.kind import Kind
from menus.imports.nutrition import NUTRITION
from menus.imports.products import PRODUCTS
from menus.imports.recipes import RECIPES
from menus.imports.supplied import SUPPLIED

MENU_KINDS: dict[str, Kind] = {kind.name: kind for kind in (PRODUCTS, SUPPLIED, NUTRITION, RECIPES, CYCLE, CLOSURES)}
