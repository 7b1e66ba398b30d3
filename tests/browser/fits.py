"""Whether a page fits its screen and the finger."""

from __future__ import annotations

from playwright.sync_api import Page

TOUCHED = (
    ".bar a, .menu a:visible, .menu summary:visible, main button:visible, main .button:visible, main .choice:visible, "
    "main input:visible"
)
LEAST = 43.9  # 44 px of WCAG 2.2, 2.5.5, less rounding


def fits(page: Page, address: str, width: int) -> None:
    """Fail when the page scrolls sideways (WCAG 2.2, 1.4.10) or something to touch is lower than 44 px."""
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(address)
    assert page.evaluate("document.documentElement.scrollWidth") <= width, address
    for target in page.locator(TOUCHED).all():
        box = target.bounding_box()
        kind = target.get_attribute("type")
        if box and kind not in ("radio", "checkbox") and target.get_attribute("tabindex") != "-1":
            assert box["height"] >= LEAST, (address, target.inner_text())
