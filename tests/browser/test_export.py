"""An administrator narrows the exceptions and takes them away as a file, in a real browser."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from openpyxl import load_workbook
from playwright.sync_api import Browser, Download, expect

from compliance.checks.run import check_site
from compliance.models import Referral, Run
from menus.models import Site
from tests.browser.fits import fits
from tests.cast import Cast, assemble
from tests.chromium import Live
from tests.factories import ServingFactory, cooked, labelled

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def cast(live: Live) -> Cast:
    """The cast with both sites checked, and June on the exceptions."""
    made = assemble()
    for site in Site.objects.all():
        check_site(site=site, trigger="hand")
    live.sign_in(made.june)
    live.page.goto("/exceptions/")
    return made


def taken(download: Download) -> bytes:
    assert "exceptions-" in download.suggested_filename
    path = download.path()
    assert isinstance(path, Path)
    return path.read_bytes()


def test_the_filter_narrows_at_once_and_the_file_holds_what_is_shown(live: Live, cast: Cast) -> None:
    """No reload, the address follows, and the export has the same rows."""
    page = live.page
    expect(page.locator("tbody tr")).to_have_count(8)
    page.get_by_label("What is avoided").select_option("gluten")
    expect(page.locator("tbody tr")).to_have_count(2)
    assert "substance=gluten" in page.url
    with page.expect_download() as download:
        page.get_by_role("link", name="Export as CSV").click()
    lines = list(csv.reader(io.StringIO(taken(download.value).decode("utf-8-sig"))))
    assert sum("Noor Example" in line for line in lines) == 2
    assert not any("Mateo Example" in line for line in lines)


def test_the_workbook_opens(live: Live, cast: Cast) -> None:
    """All the rows of the page."""
    with live.page.expect_download() as download:
        live.page.get_by_role("link", name="Export as XLSX").click()
    sheet = load_workbook(io.BytesIO(taken(download.value))).worksheets[0]
    assert sum(str(cell.value).endswith(" Example") for row in sheet.iter_rows() for cell in row) == 8


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_administrators_pages_fit_the_screen_and_the_finger(live: Live, cast: Cast, width: int) -> None:
    """The table becomes cards on a phone."""
    run = Run.objects.latest("pk")
    for address in ("/exceptions/", "/runs/", f"/runs/{run.pk}/", "/imports/", "/imports/roster/"):
        fits(live.page, address, width)


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_pages_of_licensed_staff_fit_the_screen_and_the_finger(live: Live, cast: Cast, width: int) -> None:
    """The question, the words in place and the answer with its signature."""
    unread = cooked("Odd snack", labelled("rice, zorbalex, salt", name="Odd snack"))
    ServingFactory(site=cast.ferrowick, recipe=unread)
    check_site(site=cast.ferrowick, trigger="hand")
    live.sign_in(cast.hakim)
    for address in ("/referrals/", f"/referrals/{Referral.objects.first().pk}/"):
        fits(live.page, address, width)


def test_it_works_without_scripts(chromium: Browser, live: Live, cast: Cast) -> None:
    """Fill in, press Show, take the file."""
    plain = Live(chromium, live.url, scripts=False)
    plain.sign_in(cast.june)
    plain.page.goto("/exceptions/")
    plain.page.get_by_label("Site").select_option("tansy-gate")
    plain.page.get_by_role("button", name="Show").click()
    expect(plain.page.locator("tbody tr")).to_have_count(1)
    with plain.page.expect_download() as download:
        plain.page.get_by_role("link", name="Export as CSV").click()
    assert "Ravi Example" in taken(download.value).decode("utf-8-sig")
    plain.close()
