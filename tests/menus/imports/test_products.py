"""Products and labels out of a file."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from menus.gtin import parse_gtin
from menus.imports.plan import ImportPlan, ImportRefused, plan_rows
from menus.imports.products import PRODUCTS
from menus.models import Label, Product, Supplier
from menus.services.labels import record_supplied
from tests.factories import ProductFactory, SupplierFactory, UserFactory, gtin, labelled
from tests.menus.imports.files import csv_file, xlsx_file

TODAY = date(2026, 10, 13)
BUNS = {
    "code": "B-1",
    "name": "Hamburger buns",
    "gtin": "7300011000017",
    "supplier": "Larder & Son (invented)",
    "ingredients": "wheat flour, water, yeast, salt",
    "contains": "Contains: wheat",
    "seen_on": "2026-10-01",
}

pytestmark = pytest.mark.django_db


def plan(*rows: dict[str, str]) -> ImportPlan:
    return plan_rows(PRODUCTS, csv_file(PRODUCTS, *rows), today=TODAY)


def said(made: ImportPlan) -> list[tuple[int, str]]:
    return [(problem.row, problem.field) for problem in made.problems]


def test_a_new_product_is_saved_with_its_label_supplier_and_reader():
    june = UserFactory()
    made = plan(BUNS)
    assert made.summary == "product: 1 new; label: 1 new"
    made.save(june)
    product = Product.objects.get(code="B-1")
    assert (product.gtin, product.supplier.name) == ("07300011000017", "Larder & Son (invented)")
    label = product.labels.get()
    assert (label.ingredients, label.contains, label.precautionary) == (BUNS["ingredients"], "Contains: wheat", "")
    assert (label.seen_on, label.seen_by, label.number) == (date(2026, 10, 1), june, 1)


def test_a_dry_run_writes_nothing():
    plan(BUNS)
    assert not Product.objects.exists()
    assert not Supplier.objects.exists()


def test_importing_an_unchanged_row_again_does_nothing():
    plan(BUNS).save()
    again = plan(BUNS)
    assert (again.steps, again.summary) == ([], "product: 1 unchanged; label: 1 unchanged")
    again.save()
    assert Label.objects.count() == 1


def test_a_label_that_differs_becomes_a_new_version():
    plan(BUNS).save()
    made = plan({**BUNS, "precautionary": "May contain sesame."})
    assert made.summary == "product: 1 unchanged; label: 1 changed"
    made.save()
    assert list(Label.objects.values_list("number", "precautionary")) == [(1, ""), (2, "May contain sesame.")]


def test_the_same_label_read_again_later_becomes_a_version_with_the_later_day():
    plan(BUNS).save()
    plan({**BUNS, "seen_on": "2026-10-12"}).save()
    assert Label.objects.get(number=2).seen_on == date(2026, 10, 12)


def test_an_older_label_never_takes_the_place_of_a_newer_one():
    """A list exported before the newest package was read would else bring back words that are gone from it."""
    labelled("wheat, milk", code="B-1", label={"seen_on": date(2026, 10, 5)})
    made = plan(BUNS)
    assert said(made) == [(2, "seen_on")]
    assert "was read on 2026-10-05, after this one" in made.problems[0].what


def test_an_empty_cell_leaves_what_is_recorded():
    plan(BUNS).save()
    made = plan({"code": "B-1", "name": "Buns"})
    assert made.steps[0].detail == "name “Hamburger buns” → “Buns”"
    made.save()
    product = Product.objects.get()
    assert (product.name, product.gtin, product.labels.count()) == ("Buns", "07300011000017", 1)


def test_a_product_without_a_label_is_saved_without_one():
    plan({"code": "B-1", "name": "Loose apples"}).save()
    assert not Product.objects.get().labels.exists()


def test_a_supplier_that_differs_in_case_alone_is_the_same():
    SupplierFactory(name="Larder & Son (invented)")
    plan({**BUNS, "supplier": "LARDER & SON (INVENTED)"}).save()
    assert Supplier.objects.count() == 1


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        ({"code": ""}, "code", "The cell is empty. Fill it in"),
        ({"name": ""}, "name", "The cell is empty. Fill it in"),
        ({"name": "x" * 161}, "name", "161 characters; 160 fit. Shorten it"),
        ({"gtin": "7300011000018"}, "gtin", "one of them is mistyped"),
        ({"gtin": "12345"}, "gtin", "it has 5 digits"),
        ({"gtin": "7.30001E+12"}, "gtin", "its last digits are lost. Set the column to text"),
        ({"jurisdiction": "usa"}, "jurisdiction", "“usa” is not known here. Is “us” meant? Write one of: us, eu"),
        ({"regulator": "fad"}, "regulator", "Is “fda” meant?"),
        ({"seen_on": ""}, "seen_on", "The label has no date."),
        ({"ingredients": "", "contains": ""}, "seen_on", "There is a date and no label text."),
        ({"seen_on": "10/01/2026"}, "seen_on", "is not a date as YYYY-MM-DD. Write year, month, day"),
        ({"seen_on": "2026-02-30"}, "seen_on", "is not a date"),
        ({"seen_on": "2026-10-14"}, "seen_on", "lies ahead"),
        ({"ingredients": "a" * 20_001}, "ingredients", "a label may have 20,000. Leave out"),
    ],
)
def test_a_bad_cell_is_told_with_row_field_what_and_mend(cells, field, words):
    made = plan(BUNS | {"code": "B-0", "gtin": ""}, {**BUNS, **cells})
    assert said(made) == [(3, field)]
    assert words in str(made.problems[0])


def test_every_bad_row_is_listed_at_once():
    made = plan({**BUNS, "name": "", "seen_on": "soon"}, {**BUNS, "code": "B-2", "gtin": "1"})
    assert said(made) == [(2, "name"), (2, "seen_on"), (3, "gtin")]


def test_with_one_bad_row_nothing_is_saved():
    made = plan(BUNS, {**BUNS, "code": "B-2", "gtin": "1"})
    with pytest.raises(ImportRefused, match=r"Nothing was saved: the file has 1 problem\."):
        made.save()
    assert not Product.objects.exists()


def test_a_failure_half_way_leaves_nothing_behind(monkeypatch):
    def fail(**_: object) -> None:
        raise ValidationError("The label could not be kept.")

    monkeypatch.setattr("menus.imports.products.record_label", fail)
    with pytest.raises(ImportRefused, match="Nothing was saved: The label could not be kept"):
        plan(BUNS).save()
    assert not Product.objects.exists()
    assert not Supplier.objects.exists()


def test_what_changed_since_the_dry_run_stops_the_saving():
    """What was shown is what is saved."""
    made = plan(BUNS)
    ProductFactory(code="B-1", name="Something else")
    with pytest.raises(ImportRefused, match="the records changed since this dry run"):
        made.save()
    assert Product.objects.get().name == "Something else"


def test_two_rows_of_one_code_or_one_gtin_are_both_told():
    made = plan(BUNS, {**BUNS, "gtin": ""}, {**BUNS, "code": "B-2", "gtin": "07300011000017"})
    assert said(made) == [(2, "code"), (2, "gtin"), (3, "code"), (4, "gtin")]
    assert "“B-1” stands in row 3 too." in str(made.problems[0])


def test_a_gtin_of_another_product_is_refused():
    ProductFactory(code="OLD", gtin=parse_gtin(BUNS["gtin"]))
    made = plan(BUNS)
    assert said(made) == [(2, "gtin")]
    assert "recorded for the product “OLD”" in made.problems[0].what


def test_zeros_that_a_spreadsheet_took_from_a_gtin_are_put_back():
    """GTIN-12 036000291452 as a number; the check digit of the padded number fits."""
    rows = [PRODUCTS.header, [{"code": "B-1", "name": "Buns", "gtin": 36000291452}.get(n) for n in PRODUCTS.header]]
    made = plan_rows(PRODUCTS, xlsx_file(rows), today=TODAY)
    assert str(made.notes[0]).startswith(
        "Row 2, gtin: Zeros in front were lost: “36000291452” is read as 036000291452."
    )
    made.save()
    assert Product.objects.get().gtin == "00036000291452"


def test_zeros_are_not_put_back_when_the_check_digit_does_not_fit():
    assert said(plan({**BUNS, "gtin": "36000291453"})) == [(2, "gtin")]


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    labelled("rice", code="RICE")
    for size in (2, 20):
        rows = [{**BUNS, "code": f"C-{n}", "gtin": gtin(n)} for n in range(size)]
        with django_assert_num_queries(3):  # products, their current labels, suppliers
            plan(*rows)


class TestSuppliedCodes:
    """The supplier's allergen codes in a column of their own, which a file may lack."""

    CODES = {**BUNS, "supplied": "as may contain; MILK FREE_FROM"}

    def test_they_are_stored_one_a_line(self):
        plan(self.CODES).save()
        assert Label.objects.get().supplied == "AS MAY_CONTAIN (Sesame Seeds)\nMILK FREE_FROM (Milk)"
        assert plan(self.CODES).steps == []

    def test_a_file_without_them_leaves_those_on_record(self):
        plan(self.CODES).save()
        without = [name for name in PRODUCTS.header if name != "supplied"]
        changed = {**BUNS, "ingredients": "wheat flour, water, milk"}
        rows = xlsx_file([without, [changed.get(name, "") for name in without]])
        made = plan_rows(PRODUCTS, rows, today=TODAY)
        assert made.problems == []
        made.save()
        assert Label.objects.get(number=2).supplied.startswith("AS MAY_CONTAIN")
        assert plan(changed).steps == []

    @pytest.mark.parametrize(
        ("cells", "told"),
        [
            ({"supplied": "AS"}, "gives no level of containment"),
            ({"supplied": "Contains sesame"}, "SESAME is no level"),
            ({"ingredients": "", "contains": "", "supplied": "AS CONTAINS"}, "no words of the package"),
        ],
    )
    def test_what_cannot_be_read_is_a_problem(self, cells, told):
        (problem,) = plan({**BUNS, **cells}).problems
        assert (problem.row, problem.field) == (2, "supplied")
        assert told in problem.what

    def test_a_code_that_is_new_to_us_is_noted_and_kept(self):
        made = plan({**BUNS, "supplied": "QQQ CONTAINS"})
        assert [(note.row, note.field) for note in made.notes] == [(2, "supplied")]
        made.save()
        assert Label.objects.get().supplied == "QQQ CONTAINS"

    def test_a_package_read_before_the_codes_came_is_taken(self):
        """Codes alone are no reading of a package that an earlier day could be behind."""
        plan({**BUNS, "ingredients": "", "contains": "", "seen_on": ""}).save()
        record_supplied(product=Product.objects.get(code="B-1"), supplied="AS MAY_CONTAIN (Sesame Seeds)")
        made = plan(BUNS)
        assert made.problems == []
        made.save()
        assert Label.objects.get(number=2).supplied == "AS MAY_CONTAIN (Sesame Seeds)"
