"""The demo's level of texture: a thin drink asks nothing of a level for food, a dish that states none does."""

from __future__ import annotations

import pytest
from django.utils import timezone

from compliance.checks.texture import dish_textures, levels_asked
from compliance.demo.load import load_demo
from menus.models import Serving
from roster.models import TextureLevel

pytestmark = pytest.mark.django_db


def test_milk_asks_nothing_and_a_dish_without_a_level_does() -> None:
    """As the demo's README says."""
    load_demo()
    now, level = timezone.now(), TextureLevel.objects.get()
    servings = list(Serving.objects.planned().filter(site__code="ferrowick").select_related("recipe"))
    levels = {servings[0].site_id: levels_asked([level.child_id], now)}
    asked = dish_textures(servings, levels, now)
    silent = {serving.recipe.name for serving in servings if serving.pk not in asked}
    assert silent == {"Low-fat milk", "Orange juice", "Apple juice"}
