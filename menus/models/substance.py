"""What a column that holds a substance's code accepts."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance


def validate_substance(code: str) -> None:
    """Refuse a code that the catalogue of substances does not hold, suggesting those that come near."""
    try:
        Catalogue.load().get(code)
    except UnknownSubstance as error:
        raise ValidationError(str(error), code="substance") from error
