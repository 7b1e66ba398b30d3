"""A label's text as somebody stored it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from menus.labels.evidence import Part

LONGEST_LABEL = 20_000


class LabelTooLong(ValueError):
    """A text too long to be a label."""

    def __init__(self, length: int) -> None:
        self.length = length
        super().__init__(
            f"This label text has {length:,} characters; a label may have at most {LONGEST_LABEL:,}, so it was not "
            "read. Paste only the ingredient statement and what follows it on the package."
        )


@dataclass(frozen=True, slots=True)
class LabelText:
    """One version of what the package says, part by part. A whole label may be pasted into `ingredients`."""

    ingredients: str
    contains: str = ""
    precautionary: str = ""
    claims: str = ""
    supplied: str = ""  # GS1 allergen codes, one a line: see menus.labels.supplied.rows
    jurisdiction: str = "us"  # "us" | "eu" | "uk" | "ca" | "anz" | "codex"
    regulator: str = ""  # "fda" | "fsis" | "none" (home-made); empty: the general food law of the place
    seen_on: date | None = None

    def __post_init__(self) -> None:
        length = sum(len(text) for _, text in self.parts())
        if length > LONGEST_LABEL:
            raise LabelTooLong(length)

    def parts(self) -> tuple[tuple[Part, str], ...]:
        """The stored texts with the part each belongs to."""
        return (
            (Part.INGREDIENTS, self.ingredients),
            (Part.CONTAINS, self.contains),
            (Part.PRECAUTIONARY, self.precautionary),
            (Part.CLAIMS, self.claims),
            (Part.SUPPLIED, self.supplied),
        )
