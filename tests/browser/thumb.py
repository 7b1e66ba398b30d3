"""A thumb that counts its taps, and what the first look promises of them (docs/design/first-look.md)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from tests.chromium import Live


@dataclass
class Thumb:
    """Touches the page and counts."""

    live: Live
    taps: int = 0

    def tap(self, words: str) -> None:
        """Touch the button or link with these words."""
        self.taps += 1
        page = self.live.page
        page.get_by_role("button", name=words, exact=True).or_(
            page.get_by_role("link", name=words, exact=True)
        ).first.click()

    def fill(self, label: str, text: str) -> None:
        """Touch the field and type or paste into it: two taps by the table's count."""
        self.taps += 2
        field = self.live.page.get_by_label(label)
        field.click()
        field.press_sequentially(text) if len(text) < 20 else field.fill(text)

    def type(self, text: str) -> None:
        """Type or paste where the cursor stands already: one tap."""
        self.taps += 1
        self.live.page.keyboard.insert_text(text)


def on_record(way: str) -> int:
    """Return how many taps the first look promises for that way."""
    text = (Path(settings.BASE_DIR) / "docs" / "design" / "first-look.md").read_text()
    match = re.search(rf"^\| {re.escape(way)} \| \d+ \| (\d+)", text, re.M)
    assert match, way
    return int(match[1])
