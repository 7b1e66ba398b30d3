"""Suppliers' allergen codes out of a sheet, put beside what is on record.

The two files in data/ are invented, in the forms of the GS1 Web Vocabulary (JSON-LD) and of a flat table of the same
attributes.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.management import call_command
from django.utils import timezone

from menus.imports.plan import ImportPlan, ImportRefused, plan_rows
from menus.imports.supplied import SUPPLIED
from menus.models import Product
from menus.services.labels import record_label
from tests.factories import ProductFactory, UserFactory, labelled
from tests.menus.imports.files import xlsx_file
from tests.menus.imports.stated import BAR, CRISP, OATS, SOUP, lines, plan, stated

DATA = Path(__file__).parent / "data"

pytestmark = pytest.mark.django_db


def sample(name: str) -> ImportPlan:
    return plan_rows(SUPPLIED, io.BytesIO((DATA / name).read_bytes()))


class TestBesideTheLabel:
    """The codes come beside the words on record, and nothing of those is lost."""

    def test_words_day_and_reader_stay(self, bar: Product) -> None:
        """Nobody has read the package anew, so it grows old as before."""
        june = UserFactory()
        before = bar.labels.get()
        made = plan(stated("AN", "MAY_CONTAIN", spec_agency="US", spec_name="FALCPA, FASTER", last_change="2026-09-30"))
        assert made.summary == "label: 1 changed"
        made.save(june)
        after = bar.labels.get(number=2)
        assert after.supplied == "AN MAY_CONTAIN (Tree nuts) US FALCPA FASTER 2026-09-30"
        for field in ("ingredients", "contains", "precautionary", "claims", "seen_on", "seen_by"):
            assert getattr(after, field) == getattr(before, field)

    def test_a_dry_run_writes_nothing_and_says_what_is_new(self, bar: Product) -> None:
        """What is added, what it replaces, and beside which label."""
        plan(stated("AM", "MAY_CONTAIN"), stated("AE", "FREE_FROM")).save()
        made = plan(stated("AM"), stated("AE", "FREE_FROM"))
        (step,) = made.steps
        assert step.detail == "AM CONTAINS (Milk) instead of AM MAY_CONTAIN (Milk) (beside label 2)"
        assert bar.labels.count() == 2

    def test_the_same_file_again_does_nothing(self, bar: Product) -> None:
        """Twice is harmless, sentences and all."""
        row = stated("AM", allergen_statement="May contain egg.", ingredient_statement="oats, honey")
        plan(row, stated("AS", "")).save()
        again = plan(row, stated("AS", ""))
        assert (again.steps, again.summary) == ([], "label: 1 unchanged")

    def test_what_the_file_passes_over_stays(self, bar: Product) -> None:
        """No row for an allergen is silence, and silence takes nothing back. It is said, to be mended by hand."""
        plan(stated("AM"), stated("AE", "FREE_FROM")).save()
        made = plan(stated("AP", "MAY_CONTAIN"))
        assert ["AM CONTAINS (Milk)" in note.what for note in made.notes] == [True]
        made.save()
        assert lines(bar) == ["AM CONTAINS (Milk)", "AE FREE_FROM (Eggs)", "AP MAY_CONTAIN (Peanuts)"]

    def test_the_long_code_takes_the_place_of_the_short_one(self, bar: Product) -> None:
        """They are one allergen."""
        plan(stated("AM", "MAY_CONTAIN")).save()
        plan(stated("https://ref.gs1.org/voc/AllergenTypeCode-MILK")).save()
        assert lines(bar) == ["MILK CONTAINS (Milk)"]

    def test_older_data_never_take_the_place_of_newer_ones(self, bar: Product) -> None:
        """Files come in any order."""
        plan(stated("AM", last_change="2026-09-30")).save()
        made = plan(stated("AM", "FREE_FROM", last_change="2026-05-11"))
        assert "Newer data are on record" in made.notes[0].what
        assert made.steps == []

    def test_less_than_what_is_on_record_is_taken_and_said(self, bar: Product) -> None:
        """It may be a mended recipe or a slip of the supplier's."""
        plan(stated("AM")).save()
        made = plan(stated("AM", "FREE_FROM"))
        assert "says less than what is on record" in made.notes[0].what
        assert made.notes[0].mend == "Ask the supplier which is right."

    def test_two_levels_for_one_allergen_are_both_kept(self, bar: Product) -> None:
        """The reader takes the graver, and the person is told."""
        made = plan(stated("AM", "FREE_FROM"), stated("MILK"))
        assert "says two things of one allergen" in made.notes[0].what
        made.save()
        assert lines(bar) == ["AM FREE_FROM (Milk)", "MILK CONTAINS (Milk)"]

    def test_a_new_reading_of_the_package_keeps_the_codes(self, bar: Product) -> None:
        """They are on no package, so no package takes them back."""
        plan(stated("AM", "MAY_CONTAIN")).save()
        record_label(product=bar, ingredients="oats, honey", seen_on=timezone.localdate())
        assert lines(bar) == ["AM MAY_CONTAIN (Milk)"]

    def test_a_label_recorded_meanwhile_stops_the_saving(self, bar: Product) -> None:
        """What is saved is what was shown."""
        made = plan(stated("AM"))
        record_label(product=bar, ingredients="oats, milk", seen_on=timezone.localdate())
        with pytest.raises(ImportRefused, match="Look at the dry run again"):
            made.save()
        assert bar.labels.count() == 2


class TestWithoutALabel:
    """Products that nobody has read, and products that nobody buys."""

    def test_codes_alone_become_a_label_that_is_not_read(self) -> None:
        """It counts as one without a list."""
        product = ProductFactory(gtin=BAR)
        plan(stated("AM")).save()
        label = product.labels.get()
        assert (label.supplied, label.is_read) == ("AM CONTAINS (Milk)", False)

    def test_a_number_that_nobody_knows_is_left_out_and_said(self, bar: Product) -> None:
        """A supplier's file holds all that he sells."""
        made = plan(stated("AM", gtin=SOUP), stated("AM"))
        assert [note.what for note in made.notes if SOUP in note.what]
        made.save()
        assert not Product.objects.filter(gtin=SOUP).exists()
        assert lines(bar) == ["AM CONTAINS (Milk)"]


class TestRows:
    """What a row must hold."""

    @pytest.mark.parametrize(
        ("row", "field"),
        [
            (stated("AM", gtin=""), "gtin"),
            (stated("AM", gtin="123"), "gtin"),
            (stated(""), "allergen_type_code"),
            (stated("?!"), "allergen_type_code"),
            (stated("AM", last_change="30 September"), "last_change"),
        ],
    )
    def test_a_bad_row_stops_the_file(self, bar: Product, row: dict[str, str], field: str) -> None:
        """It is listed with its place and how to mend it."""
        made = plan(stated("AP"), row)
        assert [(problem.row, problem.field) for problem in made.problems] == [(3, field)]
        assert made.problems[0].mend

    @pytest.mark.parametrize("row", [stated("AS", ""), stated("AS", "NEVER"), stated("QQQ")])
    def test_what_is_not_known_is_noted_and_kept(self, bar: Product, row: dict[str, str]) -> None:
        """It counts as not understood until the supplier says more."""
        made = plan(row)
        assert made.notes
        made.save()
        assert lines(bar)[0].startswith(row["allergen_type_code"])

    def test_columns_that_a_supplier_does_not_give_may_be_left_out(self, bar: Product) -> None:
        """As a workbook too."""
        header = ["gtin", "allergen_type_code", "level_of_containment_code"]
        plan_rows(SUPPLIED, xlsx_file([header, [BAR, "AM", "CONTAINS"]])).save()
        assert lines(bar) == ["AM CONTAINS (Milk)"]

    def test_too_much_for_one_label_is_a_problem(self, bar: Product) -> None:
        """Not an error when it is saved."""
        made = plan(stated("AM", allergen_statement="Contains milk. " * 1_400))
        assert "more than 20,000 characters" in made.problems[0].what


class TestSamples:
    """Files as suppliers send them."""

    def test_a_product_in_json_ld(self, bar: Product) -> None:
        """Its codes, its list and its statement, beside the label that somebody read."""
        made = sample("gs1_product.jsonld")
        assert (made.problems, made.summary) == ([], "label: 1 changed")
        made.save()
        assert lines(bar) == [
            "AN MAY_CONTAIN (Tree nuts)",
            "AS MAY_CONTAIN (Sesame Seeds)",
            "AM FREE_FROM (Milk)",
            "AW CONTAINS (Cereals containing gluten)",
            "Allergen statement: May contain tree nuts and sesame",
            f"Ingredients: {OATS}",
        ]

    def test_a_flat_table(self, bar: Product) -> None:
        """Three products, one of which is sold elsewhere; an allergen without a level is kept and noted."""
        crisp = labelled("rye flour, salt", gtin=CRISP)
        made = sample("gs1_rows.csv")
        assert made.problems == []
        assert [(note.row, note.field) for note in made.notes] == [(5, "gtin"), (8, "level_of_containment_code")]
        made.save()
        assert lines(bar)[2] == "AM FREE_FROM (Milk) US FALCPA+FASTER 2026-09-30"
        assert lines(crisp) == [
            "UW CONTAINS (Wheat) EU 1169/2011 2026-02-02",
            "AS (Sesame Seeds) EU 1169/2011 2026-02-02",
        ]

    def test_the_command_saves_it(self, bar: Product) -> None:
        """From a file on disk."""
        out = io.StringIO()
        call_command("import_supplied", str(DATA / "gs1_product.jsonld"), stdout=out, stderr=out)
        assert out.getvalue().endswith("Saved: label: 1 changed.\n")
        assert lines(bar)[0] == "AN MAY_CONTAIN (Tree nuts)"
