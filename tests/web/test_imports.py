"""Imports: every file is tried out, every problem listed, and all of it saved or nothing."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from menus.models import CycleMenu, Label, Product, Recipe
from roster.imports.plan import KINDS
from roster.models import Child, Restriction, Role
from tests.cast import Cast
from tests.factories import EnrolmentFactory, PostFactory
from tests.roster.imports.packages import sample, zipped
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

BUNS = {"code": "B-1", "name": "Buns", "ingredients": "wheat, water", "contains": "Wheat", "seen_on": "2026-01-31"}
BAD = {"code": "B-2", "name": "Rolls", "ingredients": "wheat flour", "gtin": "123", "seen_on": "31 January"}


def sheet(kind: str, *rows: dict[str, str]) -> SimpleUploadedFile:
    """A file with the columns of that kind; cells that a row does not name are empty."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, KINDS[kind].header)
    writer.writeheader()
    writer.writerows(rows)
    return SimpleUploadedFile(f"{kind}.csv", out.getvalue().encode())


def send(person, kind: str, upload: SimpleUploadedFile | None, act: str = "try", **beside: object) -> HttpResponse:
    """Upload the file with one of the two buttons."""
    typed = {act: "1", **beside, **({"file": upload} if upload else {})}
    return as_user(person).post(reverse(f"import-{kind}"), typed, follow=True)


def test_a_try_says_what_saving_gives_and_saves_nothing(cast: Cast) -> None:
    """The whole plan, one by one."""
    page = send(cast.tomas, "products", sheet("products", BUNS))
    assert "Nothing to mend" in words(page)
    assert "Buns" in words(page)
    assert "Nothing was saved yet" in words(page)
    assert not Product.objects.filter(code="B-1").exists()


def test_every_bad_row_is_listed_with_how_to_mend_it(cast: Cast) -> None:
    """Row, column, what is wrong, how to mend it: for each fault, not for the first."""
    page = send(cast.tomas, "products", sheet("products", BUNS, BAD))
    faults = [[cell.get_text().strip() for cell in row.select("td")] for row in soup(page).select("#plan tbody tr")]
    assert {(fault[0], fault[1]) for fault in faults} == {("3", "gtin"), ("3", "seen_on")}
    assert all(fault[2] and fault[3] for fault in faults)


def test_a_file_with_one_bad_row_saves_none(cast: Cast) -> None:
    """Also when the other button is pressed."""
    page = send(cast.tomas, "products", sheet("products", BUNS, BAD), "save")
    assert "Nothing was saved" in words(page)
    assert not Product.objects.filter(code="B-1").exists()


def test_a_sound_file_is_saved_whole(cast: Cast) -> None:
    """With its labels, and the page says what was done."""
    page = send(cast.tomas, "products", sheet("products", BUNS), "save")
    assert "Saved: " in words(page)
    assert Label.objects.get(product__code="B-1").contains == "Wheat"


def test_saving_the_same_file_again_changes_nothing(cast: Cast) -> None:
    """Twice is harmless."""
    for _ in range(2):
        send(cast.tomas, "products", sheet("products", BUNS), "save")
    assert Label.objects.filter(product__code="B-1").count() == 1


def test_without_a_file_it_says_so(cast: Cast) -> None:
    """And why the file may be gone."""
    assert "Choose the file. A browser forgets it" in words(send(cast.tomas, "products", None))


@pytest.mark.parametrize(
    "content", [b"", b"\x00\xff\xfe", b"PK\x03\x04 no workbook", b"just words", b"\xff" * 1000, b'"unclosed']
)
def test_any_bytes_are_answered_with_problems(cast: Cast, content: bytes) -> None:
    """Never with an error page."""
    page = send(cast.tomas, "products", SimpleUploadedFile("products.csv", content))
    assert "to mend" in words(page)
    assert soup(page).select("#plan tbody tr")


def test_trying_out_without_a_reload_gives_the_same_answer(cast: Cast) -> None:
    """The fragment is the part of the page, so that the chosen file stays chosen."""
    whole = soup(send(cast.tomas, "products", sheet("products", BAD))).find(id="plan")
    fragment = as_user(cast.tomas).post(
        reverse("import-products"), {"try": "1", "file": sheet("products", BAD)}, headers={"HX-Request": "true"}
    )
    assert soup(fragment).find(id="plan") == whole


def test_recipes_come_after_their_products(cast: Cast) -> None:
    """A row that names an unknown product is a problem; a sound file makes the recipe."""
    toast = {"recipe": "toast", "name": "Toast", "servings": "10", "quantity": "1", "unit": "kg"}
    unknown = send(cast.tomas, "recipes", sheet("recipes", {**toast, "product": "NOPE"}), "save")
    assert "NOPE" in words(unknown)
    assert not Recipe.objects.filter(code="toast").exists()
    send(cast.tomas, "recipes", sheet("recipes", {**toast, "product": cast.larder.bread.code}), "save")
    assert Recipe.objects.get(code="toast").versions.get().lines.get().product == cast.larder.bread


def cycle(cast: Cast, **beside: str) -> HttpResponse:
    dish = {"week": "1", "weekday": "monday", "meal": "lunch", "recipe": cast.dishes.oat_bar.code}
    typed = {"site": str(cast.ferrowick.pk), "menu": "Autumn", "starts_on": "2026-09-07", **beside}
    return send(cast.tomas, "cycle", sheet("cycle", dish), "save", **typed)


def test_a_cycle_menu_comes_with_its_site_name_and_first_monday(cast: Cast) -> None:
    """What stands beside the file is asked on the page."""
    cycle(cast)
    menu = CycleMenu.objects.get()
    assert (menu.site, menu.name, menu.starts_on, menu.weeks) == (cast.ferrowick, "Autumn", date(2026, 9, 7), 1)


@pytest.mark.parametrize(
    ("beside", "told"),
    [
        ({"starts_on": "2026-09-08"}, "2026-09-08 is no Monday"),
        ({"starts_on": ""}, "Give a day"),
        ({"menu": ""}, "Give the menu a name"),
    ],
)
def test_a_cycle_menu_without_its_beginning_is_refused(cast: Cast, beside: dict[str, str], told: str) -> None:
    """What is wrong and how to mend it; nothing is saved."""
    assert told in words(cycle(cast, **beside))
    assert not CycleMenu.objects.exists()


def test_a_kitchen_cannot_change_the_menu_of_another_site(cast: Cast) -> None:
    """It is not among the sites to choose from."""
    page = cycle(cast, site=str(cast.tansy_gate.pk))
    assert "not one of the available choices" in words(page)
    assert not CycleMenu.objects.exists()


def restrictions(person, cast: Cast) -> HttpResponse:
    for child, number in ((cast.bao, "1"), (cast.ravi, "2")):
        type(child).objects.filter(pk=child.pk).update(source="SIS", source_id=number)
    rows = [{"source": "SIS", "child_id": number, "substance": "kiwi"} for number in "12"]
    return send(person, "restrictions", sheet("restrictions", *rows), "save")


def test_restrictions_protect_as_soon_as_they_are_saved(cast: Cast) -> None:
    """Reported by default, and strict."""
    restrictions(cast.june, cast)
    added = Restriction.objects.filter(substance="kiwi", child__in=[cast.bao, cast.ravi])
    assert {(each.strictness, each.basis) for each in added} == {("trace", "reported")}
    assert added.count() == 2


def test_an_administrator_of_one_site_reaches_no_child_of_another(cast: Cast) -> None:
    """The other site's children are unknown to the file, and nothing is saved."""
    user = PostFactory(role=Role.ADMINISTRATOR, site=cast.tansy_gate, classroom=None).user
    page = restrictions(user, cast)
    faults = [row.get_text(" ") for row in soup(page).select("#plan tbody tr")]
    assert len(faults) == 1
    assert "has the number “1”" in faults[0]
    assert "Bao" not in words(page)
    assert not Restriction.objects.filter(substance="kiwi", child=cast.ravi).exists()


@pytest.mark.parametrize(
    ("who", "kinds"),
    [
        ("tomas", {"products", "supplied", "nutrition", "recipes", "cycle"}),
        ("hakim", {"products", "supplied", "nutrition", "recipes", "cycle", "restrictions"}),
        ("june", {"products", "supplied", "nutrition", "recipes", "cycle", "closures", "restrictions", "roster"}),
    ],
)
def test_each_role_is_offered_its_own_kinds(cast: Cast, who: str, kinds: set[str]) -> None:
    """And only those answer."""
    browser = as_user(getattr(cast, who))
    offered = {a["href"] for a in soup(browser.get(reverse("imports"))).select("h2 a")}
    assert offered == {reverse(f"import-{kind}") for kind in kinds}
    for kind in ("products", "supplied", "nutrition", "recipes", "cycle", "closures", "restrictions", "roster"):
        assert browser.get(reverse(f"import-{kind}")).status_code == (200 if kind in kinds else 404)


def roster(cast: Cast, act: str, **beside: str) -> HttpResponse:
    upload = SimpleUploadedFile("class-list.zip", zipped(sample()).read())
    return send(cast.june, "roster", upload, act, **beside)


def test_a_class_list_is_tried_out_and_saved(cast: Cast) -> None:
    """Schools without a site stop it, until somebody says that sites may be made."""
    assert "to mend" in words(roster(cast, "save"))
    assert not Child.objects.exclude(source="").exists()
    assert "Nothing to mend" in words(roster(cast, "try", create_sites="on"))
    assert not Child.objects.exclude(source="").exists()
    assert "Saved: " in words(roster(cast, "save", create_sites="on"))
    assert Child.objects.exclude(source="").count() == 5


def test_a_class_list_takes_an_administrator_of_every_site(cast: Cast) -> None:
    """It moves children at all of them."""
    user = PostFactory(role=Role.ADMINISTRATOR, site=cast.tansy_gate, classroom=None).user
    assert as_user(user).get(reverse("import-roster")).status_code == 404


def test_teachers_and_strangers_import_nothing(cast: Cast) -> None:
    """There is no such page for them."""
    for person in (cast.rosa, cast.wren):
        assert as_user(person).get(reverse("imports")).status_code == 404
        assert as_user(person).get(reverse("import-products")).status_code == 404


@pytest.mark.parametrize("kind", ["products", "recipes", "cycle", "closures", "restrictions"])
def test_a_template_has_the_header_and_no_row(cast: Cast, kind: str) -> None:
    """As CSV and as XLSX, the same columns."""
    june = as_user(cast.june)
    text = june.get(reverse("import-template", args=[kind, "csv"])).content.decode("utf-8-sig")
    (header,) = csv.reader(io.StringIO(text))
    book = load_workbook(io.BytesIO(june.get(reverse("import-template", args=[kind, "xlsx"])).content))
    assert [cell.value for cell in book.worksheets[0][1]] == header


def test_there_is_no_template_of_another_kind(cast: Cast) -> None:
    """A class list comes from elsewhere; an address made up is not there."""
    june = as_user(cast.june)
    for kind, form in (("roster", "csv"), ("products", "pdf"), ("nothing", "csv")):
        assert june.get(reverse("import-template", args=[kind, form])).status_code == 404


def test_a_child_that_has_left_is_no_longer_theirs_to_write_about(cast: Cast) -> None:
    """Nor does a file tell what is on record of it by now."""
    yesterday = timezone.localdate() - timedelta(days=1)
    cast.ravi.enrolments.update(ends_on=yesterday)
    EnrolmentFactory(child=cast.ravi, classroom=cast.larks, starts_on=timezone.localdate())
    user = PostFactory(role=Role.ADMINISTRATOR, site=cast.tansy_gate, classroom=None).user
    assert "has the number “2”" in words(restrictions(user, cast))
