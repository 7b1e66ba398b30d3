"""Documents that speak of the code agree with it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings

from compliance.reports.reference import pages

DOCS = Path(settings.BASE_DIR) / "docs"


@pytest.mark.parametrize("name", sorted(pages()))
def test_generated_page_is_fresh(name: str) -> None:
    """Run `python3 manage.py write_reference` when this fails."""
    assert (DOCS / "reference" / name).read_text(encoding="utf-8") == pages()[name]


def test_every_setting_is_explained() -> None:
    """Each variable that the settings read stands in the reference."""
    source = (Path(settings.BASE_DIR) / "compliance" / "config" / "settings.py").read_text(encoding="utf-8")
    names = set(re.findall(r"env\.(?:text|flag|number|words|rate|choice)\(\s*\"([A-Z_]+)\"", source))
    page = (DOCS / "reference" / "settings.md").read_text(encoding="utf-8")
    assert "CELERY_BROKER_URL" in names
    assert [name for name in sorted(names) if f"`{name}`" not in page] == []


def test_every_command_is_explained() -> None:
    """Each command of our packages stands in the reference."""
    commands = {path.stem for path in Path(settings.BASE_DIR).glob("*/management/commands/*.py")} - {"__init__"}
    page = (DOCS / "reference" / "commands.md").read_text(encoding="utf-8")
    assert [name for name in sorted(commands) if f"manage.py {name}" not in page] == []


def test_links_between_documents_lead_somewhere() -> None:
    """A relative link names a file that is there."""
    broken = [
        f"{page.relative_to(DOCS.parent)}: {target}"
        for page in [*DOCS.rglob("*.md"), DOCS.parent / "README.md", DOCS.parent / "DEVELOPERS.md"]
        for target in re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
        if not (page.parent / target).exists()
    ]
    assert broken == []
