"""Everything that is stored, in a shape that compares."""

from __future__ import annotations

import json
from typing import Any

from django.apps import apps
from django.core import serializers


def content() -> list[dict[str, Any]]:
    """Return all rows of the menus and the roster, without salted passwords, times of writing and seals."""
    rows: list[dict[str, Any]] = []
    for label in ("menus", "roster"):
        for model in apps.get_app_config(label).get_models():
            rows += json.loads(serializers.serialize("json", model._default_manager.order_by("pk")))
    for row in rows:
        for volatile in ("recorded_at", "password", "date_joined", "seal", "proof"):
            row["fields"].pop(volatile, None)
    return rows
