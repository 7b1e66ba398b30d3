"""menus: what is in the food."""

from __future__ import annotations

from django.apps import AppConfig


class MenusConfig(AppConfig):
    name = "menus"
