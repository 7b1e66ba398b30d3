"""What the tests of imports share."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from menus.models import Product
from tests.factories import labelled
from tests.menus.imports.stated import BAR, OATS


@pytest.fixture
def bar(db: None) -> Product:
    """An oat bar that somebody read a month ago."""
    month_ago = timezone.localdate() - timedelta(days=30)
    return labelled(OATS, gtin=BAR, name="Oat bar", label={"claims": "Vegan", "seen_on": month_ago})
