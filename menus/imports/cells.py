"""Reading the cells of one row: each method returns the value, or lists a problem and returns a stand-in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches

from menus.imports.draft import Draft
from menus.imports.sheet import Row


class Cells:
    """The cells of one row. `sound` tells whether all that were read so far could be."""

    def __init__(self, row: Row, draft: Draft, *, file: str = "") -> None:
        self.file = file
        self.row = row.number
        self.sound = True
        self._cells = row.cells
        self._draft = draft

    def raw(self, field: str) -> str:
        """Return the cell as it stands."""
        return self._cells[field]

    def refuse(self, field: str, what: str, mend: str) -> None:
        """List a problem of this row."""
        self.sound = False
        self._draft.refuse(self.row, field, what, mend, file=self.file)

    def note(self, field: str, what: str, mend: str = "") -> None:
        """List something to know about this row."""
        self._draft.note(self.row, field, what, mend, file=self.file)

    def text(self, field: str, *, longest: int, required: bool = False) -> str:
        """Return a text of at most so many characters."""
        text = self._cells[field]
        if required and not text:
            self.refuse(field, "The cell is empty.", "Fill it in; every row needs it.")
        elif len(text) > longest:
            self.refuse(field, f"The text has {len(text):,} characters; {longest:,} fit.", "Shorten it.")
        return text

    def choice(self, field: str, choices: Mapping[str, str], *, default: str = "") -> str:
        """Return the key that the cell names, by key or by the words it maps to, in any case of letters."""
        text = self._cells[field].casefold()
        keys = {name.casefold(): key for key, words in choices.items() for name in (key, words) if name}
        if not text:
            return default
        if text not in keys:
            near = get_close_matches(text, keys, n=1)
            hint = f"Is “{keys[near[0]]}” meant? " if near else ""
            allowed = ", ".join(key for key in choices if key)
            self.refuse(field, f"“{self._cells[field][:40]}” is not known here.", f"{hint}Write one of: {allowed}.")
        return keys.get(text, default)

    def day(self, field: str, *, required: bool = False) -> date | None:
        """Return a date written YYYY-MM-DD."""
        text = self._cells[field]
        if not text:
            if required:
                self.refuse(field, "The date is missing.", "Write it as year, month, day, such as 2026-03-08.")
            return None
        day = iso_day(text)
        if day is None:
            self.refuse(
                field,
                f"“{text[:40]}” is not a date as YYYY-MM-DD.",
                "Write year, month, day, such as 2026-03-08; in another order day and month can be mistaken.",
            )
        return day

    def whole(self, field: str, *, low: int, high: int) -> int:
        """Return a whole number between the two."""
        text = self._cells[field]
        if text.isascii() and text.isdigit() and len(text) < 10 and low <= int(text) <= high:
            return int(text)
        self.refuse(
            field,
            f"“{text[:40]}” is not a whole number from {low} to {high:,}.",
            "Write it in digits alone, without a unit.",
        )
        return low

    def quantity(self, field: str) -> Decimal:
        """Return an amount above zero with at most three decimals, written with a point."""
        text = self._cells[field]
        try:
            amount = Decimal(text)
        except InvalidOperation:
            amount = Decimal(0)
        if amount.is_finite() and 0 < amount < 10**7 and amount == round(amount, 3):
            return amount
        self.refuse(
            field,
            f"“{text[:40]}” is not an amount above 0 with at most three decimals.",
            "Write it with a point, such as 1.25, and put the unit into its own column.",
        )
        return Decimal(1)


def iso_day(text: str) -> date | None:
    """Return the date when the text is one as YYYY-MM-DD (ISO 8601, extended format), else None."""
    if len(text) != 10 or text[4] != "-" or text[7] != "-":
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
