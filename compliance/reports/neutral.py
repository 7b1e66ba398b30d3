"""Text made harmless for spreadsheets: a cell that begins like a formula may be run by whoever opens the file.

Source: OWASP, CSV Injection (read). Full-width signs and leading spaces are ours to add: some readers fold or trim.
"""

from __future__ import annotations

FORMULA_SIGNS = "=+-@＝＋－＠"
LEADING_BREAKS = "\t\r\n"


def harmless(text: str) -> str:
    """Return the text, with an apostrophe in front when a spreadsheet might take it for a formula.

    Only for text that people or files brought in; dates and numbers that we write ourselves need none.
    """
    begins = text.lstrip(" \u00a0\u3000")[:1]
    dangerous = begins != "" and begins in FORMULA_SIGNS + LEADING_BREAKS
    return f"'{text}" if dangerous else text


def without_control_signs(text: str) -> str:
    """Return the text without the control characters that neither XML nor a spreadsheet takes."""
    return "".join(sign for sign in text if sign >= " " or sign in "\t\n\r")
