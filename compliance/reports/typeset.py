"""Set a printed sheet: a template of ours and plain data, out comes a tagged PDF (PDF/UA-1)."""

from __future__ import annotations

import json
import logging
from datetime import datetime, tzinfo
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

import typst

from menus.models import Site
from menus.models.site import Jurisdiction

logger = logging.getLogger(__name__)

UNDRAWN = "could not be displayed with font"
"""How the typesetter says that a font lacks a sign."""

PAPER = {Jurisdiction.US: "us-letter", Jurisdiction.CANADA: "us-letter"}
"""The paper in use there; A4 elsewhere (common practice, no source)."""


def typeset(template: str, data: dict[str, Any]) -> bytes:
    """Return the PDF. Names go in as data, so none of them is taken for markup."""
    with as_file(files("compliance.reports") / template) as path:
        return compiled(path, sheet=json.dumps(data))


def compiled(template: Path, **inputs: str) -> bytes:
    """Return the PDF of a template and its inputs: tagged, in the fonts of the wheel, the same on every machine.

    Those fonts lack many scripts in which people are named, and PDF/UA forbids a sign that is not drawn. A sheet with
    such a name is set in the machine's own fonts too, untagged: a sheet in hand matters more than its tags.
    """
    try:
        return typst.compile(template, format="pdf", ignore_system_fonts=True, pdf_standards="ua-1", sys_inputs=inputs)
    except typst.TypstError as error:
        if UNDRAWN not in str(error):
            raise
        logger.warning("A sheet holds a sign that our fonts lack; it was set without tags.")
        return typst.compile(template, format="pdf", ignore_system_fonts=False, sys_inputs=inputs)


def as_of_line(moment: datetime, zone: tzinfo) -> str:
    """Return the moment that a sheet speaks of, on the clock there."""
    here = moment.astimezone(zone)
    return f"As of {here:%Y-%m-%d %H:%M} {here.tzname()}."


def paper_of(site: Site) -> str:
    """Return the paper that printers hold there, as typst names it."""
    return PAPER.get(Jurisdiction(site.jurisdiction), "a4")
