"""Foods that somebody typed, one a line, as substances."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance
from menus.substances.names import comparable
from roster.life.spoken import EITHER, NUTS


def codes_of(typed: str) -> list[str]:
    """Return their codes. Raises ValidationError for words that name nothing on record, with those that come near.

    “Nuts” is taken for tree nuts and peanut both: people say it for either.
    """
    codes: list[str] = []
    wrong: list[str] = []
    for line in typed.splitlines():
        if comparable(line) in EITHER:
            codes += NUTS
            continue
        try:
            codes += [Catalogue.load().resolve(line).code] if line.strip() else []
        except UnknownSubstance as error:
            wrong.append(str(error))
    if wrong:
        raise ValidationError(wrong, code="substance")
    return codes
