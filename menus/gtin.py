"""GTINs: the numbers under a package's bars, kept as 14 digits so that all lengths compare."""

from __future__ import annotations

from biip import ParseError
from biip.gtin import Gtin
from django.core.exceptions import ValidationError


def parse_gtin(typed: str) -> str:
    """Return the GTIN as 14 digits.

    Spaces and hyphens are ignored. Raises ValidationError when the digits are not a GTIN-8, -12, -13 or -14 or the
    check digit is wrong (GS1 General Specifications, section 7.9).
    """
    digits = typed.replace(" ", "").replace("-", "")
    try:
        return Gtin.parse(digits).as_gtin_14()
    except ParseError as error:
        raise ValidationError(
            "“%(typed)s” is not a GTIN: %(why)s Type the digits under the bars again, all of them.",
            code="gtin",
            params={"typed": typed, "why": _why(digits)},
        ) from error


def _why(digits: str) -> str:
    if not (digits.isascii() and digits.isdigit()):
        return "it holds something other than digits."
    if len(digits) not in (8, 12, 13, 14):
        return f"it has {len(digits)} digits, and a GTIN has 8, 12, 13 or 14."
    return "its last digit does not fit the others, so one of them is mistyped."


def validate_gtin(value: str) -> None:
    """Refuse a GTIN that is not stored as 14 valid digits."""
    if parse_gtin(value) != value:
        raise ValidationError("A GTIN is stored as 14 digits with leading zeros.", code="gtin-form")
