"""roster: who may not have what."""

from __future__ import annotations

from django.apps import AppConfig


class RosterConfig(AppConfig):
    name = "roster"
