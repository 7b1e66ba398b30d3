"""What holds for every template."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings

from compliance.web.cautions import CAUTIONS

WEB = Path(settings.BASE_DIR) / "compliance" / "web"
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
PROMISES = re.compile(r"\b(safe|safely|allergy-free|allergen-free|ok to eat|cleared|guarantee[ds]?)\b", re.IGNORECASE)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(WEB / "templates")))
def test_it_holds_no_script_or_style_of_its_own(path: Path) -> None:
    """The content policy would refuse them, and the page would break in the browser only."""
    source = path.read_text()
    assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|hx-on|javascript:", source)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(WEB / "templates")))
def test_it_promises_nothing(path: Path) -> None:
    """No page says that a food is harmless."""
    assert not PROMISES.findall(re.sub(r"\{[{%#].*?[}%#]\}", "", path.read_text()))


@pytest.mark.parametrize("name", CAUTIONS)
def test_a_caution_promises_nothing_and_is_used(name: str) -> None:
    """A caution that no template shows is a caution forgotten."""
    assert not PROMISES.findall(CAUTIONS[name])
    assert any(re.search(rf'\{{% caution [^%]*"{name}"', path.read_text()) for path in TEMPLATES), name
