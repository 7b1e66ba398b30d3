"""The form on paper: what a statement must hold and who may sign it, by program and day, in both languages."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.utils import translation

from compliance.reports.guardianpaper import GuardianPaper, _data, guardian_paper_pdf
from roster.kinds.signing import statement_parts
from roster.models import Program
from tests.factories import SiteFactory


def form(**more: Any) -> GuardianPaper:
    """A blank form of Ferrowick's."""
    made = GuardianPaper(
        language="en",
        site=SiteFactory.build(name="Ferrowick", forms_to="room 4"),
        program=Program.NSLP,
        day=date(2026, 3, 2),
        foods=("milk", "fish.wahoo"),
        ways=("vegan",),
        grounds=("For the child's health",),
        cautions=("Caution",),
    )
    return replace(made, **more)


@pytest.mark.parametrize(
    ("program", "day", "dietitian"),
    [
        (Program.NSLP, date(2025, 6, 30), False),
        (Program.NSLP, date(2025, 7, 1), True),
        (Program.CACFP, date(2025, 9, 30), False),
        (Program.CACFP, date(2025, 10, 1), True),
    ],
)
def test_who_may_sign_goes_by_program_and_day(program: Program, day: date, dietitian: bool) -> None:
    """7 CFR 210.10(m)(1)(i), 226.20(g)(1)(i): registered dietitians from these days on. Source: FNS SP 07-2025."""
    signers = _data(form(program=program, day=day))["statement"]["maysign"][1:]
    assert len(signers) == 1 + dietitian
    assert any("dietitian" in each for each in signers) is dietitian


def test_it_holds_every_part_of_a_statement() -> None:
    """FNS SP 59-2016, 7 CFR 210.10(m)(1)(i): how it restricts, what to do, what to omit, what instead, a signature."""
    statement = _data(form())["statement"]
    assert [*statement["parts"], statement["signed"]] == [part.what for part in statement_parts()]


def test_it_is_spanish_where_it_is_asked_for() -> None:
    """A name without a Spanish one stays English; the translation says that it waits for a review."""
    with translation.override("es"):
        data = _data(form(language="es"))
    assert data["family"]["foods"] == ["Alimentos que no se le deben servir", "leche", "wahoo"]
    assert data["family"]["ways"][1] == "Vegana" and data["family"]["grounds"][1] == "Por la salud del niño"
    assert "pendiente de revisión" in data["foot"]


def test_only_a_notice_that_the_site_gave_is_printed() -> None:
    """We compose no text of law."""
    assert _data(form())["notice"] == ""
    told = SiteFactory.build(nondiscrimination="The program's own words.")
    assert _data(form(site=told))["notice"] == "The program's own words."


def test_without_a_site_it_leaves_lines_to_write_on() -> None:
    """For the administrator of many."""
    data = _data(form(site=None))
    assert data["open"] and data["return"] == ["Hand it in at:", ""]


@pytest.mark.parametrize("language", ["en", "es"])
def test_it_is_a_tagged_pdf_whatever_a_site_is_called(language: str) -> None:
    """Names are data and never markup; the file's name names nobody."""
    hostile = SiteFactory.build(name='#read("/etc/passwd") *b* $x$ <l> @r \\ ]', nondiscrimination="#panic()")
    made = form(language=language, site=hostile)
    assert guardian_paper_pdf(made).startswith(b"%PDF") and made.file_name == f"dietary-need-{language}.pdf"
