"""Words stand out from what is behind them: WCAG 2.2, success criteria 1.4.3 (4.5 to 1) and 1.4.11 (3 to 1).

Source: Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation: definitions of contrast ratio and relative
luminance (from memory).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings

CSS = (Path(settings.BASE_DIR) / "compliance" / "web" / "static" / "base.css").read_text()
TOKENS = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", CSS))

WORDS = [
    ("withhold-ink", "withhold"),
    ("refer-ink", "refer"),
    ("refer-ink", "refer-stripe"),  # both stripes of the hatching
    ("ink", "card"),
    ("ink", "paper"),
    ("ink-soft", "card"),
    ("ink-soft", "paper"),
    ("action", "card"),
    ("action", "paper"),
    ("action", "action-soft"),
    ("action-dark", "action-soft"),
    ("card", "action"),
    ("card", "action-dark"),
]
SHAPES = [
    ("withhold", "card"),
    ("withhold", "paper"),
    ("refer-ink", "card"),
    ("line-strong", "card"),
    ("action", "paper"),
]


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The ratio of two colours, from 1 to 21."""
    dark, light = sorted(map(luminance, (one, other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_is_the_published_one() -> None:
    """Black on white is 21 to 1; #767676 is the lightest grey that passes on white, as commonly quoted."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize(("words", "ground"), WORDS)
def test_words_can_be_read(words: str, ground: str) -> None:
    """In every outcome, on either stripe of a hatching."""
    assert contrast(TOKENS[words], TOKENS[ground]) >= 4.5


@pytest.mark.parametrize(("shape", "ground"), SHAPES)
def test_shapes_can_be_told(shape: str, ground: str) -> None:
    """The frames of outcomes and fields."""
    assert contrast(TOKENS[shape], TOKENS[ground]) >= 3


@pytest.mark.parametrize(("one", "other"), [("withhold", "refer"), ("withhold", "card"), ("withhold", "refer-stripe")])
def test_outcomes_differ_in_grey(one: str, other: str) -> None:
    """On a grey printer the solid block stays darker than the hatched one and the outline."""
    assert contrast(TOKENS[one], TOKENS[other]) >= 3
