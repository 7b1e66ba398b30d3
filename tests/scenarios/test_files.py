"""Files in and out: a mistyped number, a class list with children missing, a cell that would be run."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from openpyxl import load_workbook

from menus.imports.plan import ImportRefused
from menus.models import Label, Product
from roster.imports.plan import KINDS, plan_import
from roster.models import Child, Enrolment, Role
from tests.factories import PostFactory, RecipeFactory
from tests.menus.imports.files import csv_file
from tests.roster.imports.packages import Files, sample, with_row, without_row, zipped
from tests.scenarios.stage import Stage
from tests.web.pages import as_user

pytestmark = pytest.mark.django_db


def test_s65_number_with_a_wrong_check_digit() -> None:
    """S65. Basis: GS1 General Specifications, check digit (read). The row is told with its cell; nothing is saved.

    The number is the sample's own: 6291041500213 with its last digit raised by one.
    """
    sheet = [
        {"code": "B-1", "gtin": "6291041500213", "name": "Buns"},
        {"code": "B-2", "gtin": "6291041500214", "name": "Rolls", "ingredients": "rice", "seen_on": "2026-10-01"},
    ]
    plan = plan_import("products", csv_file(KINDS["products"], *sheet))
    (problem,) = plan.problems
    assert (problem.row, problem.field) == (3, "gtin")
    assert "last digit does not fit" in str(problem)
    with pytest.raises(ImportRefused):
        plan.save()
    assert not Product.objects.exists() and not Label.objects.exists()
    good = plan_import("products", csv_file(KINDS["products"], sheet[0]))
    good.save()
    assert Product.objects.get().gtin == "06291041500213"


def imported(files: Files, today: date = date(2026, 10, 13)) -> None:
    plan_import("roster", zipped(files), create_sites=True, today=today).save()


def test_s78_transfer_as_the_class_list_tells_it() -> None:
    """S78. Basis: OneRoster 1.1 CSV, beginDate and endDate (read). Invented: Wagtails to 2 October, then Swifts."""
    imported(sample())
    child = Child.objects.get(source_id="usr-3")
    stays = {(each.classroom.name, each.starts_on, each.ends_on) for each in child.enrolments.all()}
    assert ("Swifts", date(2026, 10, 5), None) in stays
    assert [each.classroom.name for each in Enrolment.objects.on(date(2026, 10, 2)).filter(child=child)] == ["Wagtails"]
    assert [each.classroom.name for each in Enrolment.objects.on(date(2026, 10, 5)).filter(child=child)] == ["Swifts"]


def test_s79_child_missing_from_the_class_list() -> None:
    """S79. Basis: design. One missing child of five leaves once somebody confirms it; the restrictions are kept."""
    imported(sample())
    child = Child.objects.get(source_id="usr-2")
    Stage.set().restrict(child, "peanut")
    files = without_row(without_row(sample(), "enrollments.csv", "enr-2"), "users.csv", "usr-2")
    plan = plan_import("roster", zipped(files), today=date(2026, 10, 14))
    assert any("1 of 5" in str(problem) for problem in plan.problems)
    plan = plan_import("roster", zipped(files), today=date(2026, 10, 14), confirm_endings=True)
    assert any("Adisa" in str(note) and "restrictions are kept" in str(note) for note in plan.notes)
    plan.save()
    assert not Enrolment.objects.on(date(2026, 10, 15)).filter(child=child).exists()
    assert child.restrictions.get().substance == "peanut"


def test_s79_class_list_cut_off_half_way() -> None:
    """S79. Basis: design. A file that would take a dozen of seventeen children out is refused until confirmed."""
    many = sample()
    for n in range(12):
        many = with_row(many, "users.csv", "usr-2", sourcedId=f"more-{n}", identifier=f"m{n}", username=f"m-{n}")
        many = with_row(many, "enrollments.csv", "enr-2", sourcedId=f"enr-more-{n}", userSourcedId=f"more-{n}")
    imported(many)
    before = Enrolment.objects.on(date(2026, 10, 15)).count()
    plan = plan_import("roster", zipped(sample()), today=date(2026, 10, 14))
    assert any("12 of" in str(problem) for problem in plan.problems)
    with pytest.raises(ImportRefused):
        plan.save()
    assert Enrolment.objects.on(date(2026, 10, 15)).count() == before
    plan_import("roster", zipped(sample()), today=date(2026, 10, 14), confirm_endings=True).save()
    assert Enrolment.objects.on(date(2026, 10, 15)).count() == before - 12


def test_s87_names_that_a_spreadsheet_would_run() -> None:
    """S87. Basis: OWASP, CSV Injection (read). No cell of the file begins as a formula; the records stay."""
    stage = Stage.set()
    child = stage.child("peanut")
    name = '=HYPERLINK("http://example.invalid","menu")'
    stage.serve(RecipeFactory(name=name))
    stage.check()
    client = as_user(PostFactory(role=Role.ADMINISTRATOR, site=None).user)
    asked = f"?first={stage.today}&last={stage.today}"
    lines = list(csv.reader(io.StringIO(client.get(f"/exceptions/export.csv{asked}").content.decode("utf-8-sig"))))
    cells = [cell for line in lines for cell in line]
    assert f"'{name}" in cells
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)
    sheet = load_workbook(io.BytesIO(client.get(f"/exceptions/export.xlsx{asked}").content)).worksheets[0]
    kinds = {cell.value: cell.data_type for row in sheet.iter_rows() for cell in row}
    assert kinds[name] == "s"
    assert stage.site.servings.get().recipe.name == name
    assert str(child) in cells
