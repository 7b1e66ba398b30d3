"""A supplier's allergen codes on the pages of labels, products and imports."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from menus.models import Label, Product
from menus.services.labels import record_supplied
from tests.cast import Cast
from tests.factories import ProductFactory, cooked, labelled
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

SAMPLE = Path(__file__).parents[1] / "menus" / "imports" / "data" / "gs1_product.jsonld"


@pytest.fixture
def bar() -> Product:
    return labelled("rolled oats, honey", name="Oat crunch bar", label={"supplied": "AM MAY_CONTAIN (Milk)"})


def save(cast: Cast, product: Product, **typed: str) -> HttpResponse:
    """Greta fills in the label form and saves it."""
    filled = {"ingredients": "rolled oats, honey", "seen_on": timezone.localdate().isoformat(), **typed}
    return as_user(cast.tomas).post(reverse("label-new", args=[product.pk]), filled, follow=True)


class TestForm:
    """Codes typed beside the words of the package."""

    def test_those_on_record_stand_in_the_form_and_the_old_words_do_not(self, cast: Cast, bar: Product) -> None:
        """No package tells of them, so nobody could type them from it."""
        page = soup(as_user(cast.tomas).get(reverse("label-new", args=[bar.pk])))
        assert page.find(id="id_supplied").get_text().strip() == "AM MAY_CONTAIN (Milk)"
        assert page.find(id="id_ingredients").get_text().strip() == ""
        assert page.find(id="id_supplied").find_parent("details").has_attr("open")

    def test_they_are_stored_as_one_writes_them(self, cast: Cast, bar: Product) -> None:
        """One a line, with the allergen's name."""
        shown = words(save(cast, bar, supplied="gs1:AllergenTypeCode-SC may contain\r\nae free_from"))
        assert bar.labels.get(number=2).supplied == "SC MAY_CONTAIN (Cashews)\nAE FREE_FROM (Eggs)"
        assert "Cashew : “SC MAY_CONTAIN (Cashews)” (may contain)" in shown
        assert "Claims, which change nothing “AE FREE_FROM (Eggs)”" in shown
        assert "Cashew : was not named, now possible" in shown

    def test_a_page_that_does_not_ask_for_them_leaves_them(self, cast: Cast, bar: Product) -> None:
        """A form that was open before they came cannot wipe them out."""
        save(cast, bar)
        assert bar.labels.get(number=2).supplied == "AM MAY_CONTAIN (Milk)"

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"supplied": "AS"}, "“AS” gives no level of containment, so nobody knows in what sense"),
            ({"supplied": "AM CONTAINS\nContains sesame"}, "In “Contains sesame”, SESAME is no level"),
            ({"ingredients": "", "supplied": "AM CONTAINS"}, "would take the place of the words on record"),
        ],
    )
    def test_what_cannot_be_read_is_refused_and_kept_in_the_form(
        self, cast: Cast, bar: Product, typed: dict[str, str], told: str
    ) -> None:
        """What is wrong and how to mend it; nothing is saved."""
        page = save(cast, bar, **typed)
        assert told in words(page)
        assert soup(page).find(id="id_supplied").get_text().strip() == typed["supplied"]
        assert bar.labels.count() == 1

    def test_the_live_look_reads_them(self, cast: Cast) -> None:
        """Before anything is saved, and a code that nobody knows is not understood."""
        typed = {"ingredients": "rice", "supplied": "AP CONTAINS\nQQQ CONTAINS"}
        shown = " ".join(soup(as_user(cast.tomas).post(reverse("label-preview"), typed)).get_text(" ").split())
        assert "Peanut : “AP CONTAINS” (declared)" in shown
        assert "Supplier's codes that leave a question “QQQ CONTAINS”. Ask the supplier what is meant" in shown
        assert "Not understood" not in shown


class TestPages:
    """Where a label is shown, its codes are shown apart from the package."""

    def test_the_label_and_the_product_show_them_in_place(self, cast: Cast, bar: Product) -> None:
        """Marked like words, under a title that says that no package holds them."""
        label = words(as_user(cast.tomas).get(reverse("label", args=[bar.labels.get().pk])))
        assert "Supplier's allergen codes, on no package AM MAY_CONTAIN (Milk)" in label
        assert "What the package says rolled oats" in label
        assert "on no package AM MAY_CONTAIN" in words(as_user(cast.tomas).get(reverse("product", args=[bar.pk])))

    def test_codes_alone_are_said_to_be_no_label(self, cast: Cast) -> None:
        """Nobody has read the package."""
        label = Label.objects.create(
            product=ProductFactory(), number=1, supplied="AM FREE_FROM (Milk)", seen_on=timezone.localdate()
        )
        greta = as_user(cast.tomas)
        shown = words(greta.get(reverse("label", args=[label.pk])))
        assert "Nobody has read the package yet" in shown
        assert "There is no ingredient list" in shown
        product = words(greta.get(reverse("product", args=[label.product_id])))
        assert "No label on record" in product
        assert "I read it today" not in product

    def test_codes_alone_leave_the_label_to_be_read(self, cast: Cast) -> None:
        """It stays on the kitchen's list."""
        record_supplied(product=(product := ProductFactory(name="Stock cubes")), supplied="BC CONTAINS (Celery)")
        cooked("Soup", product)
        work = soup(as_user(cast.tomas).get(reverse("label-work")))
        assert "No label on record" in " ".join(work.select_one(".rows > li").get_text(" ").split())

    def test_json_ld_is_tried_out_and_saved(self, cast: Cast) -> None:
        """The kitchen brings the supplier's file as it came."""
        product = labelled("rolled oats, honey", gtin="09506000134352", name="Oat crunch bar")
        greta = as_user(cast.tomas)
        for act, told in (("try", "Saving gives: label: 1 changed."), ("save", "Saved: label: 1 changed.")):
            upload = SimpleUploadedFile("bar.jsonld", SAMPLE.read_bytes())
            page = greta.post(reverse("import-supplied"), {act: "1", "file": upload}, follow=True)
            assert told in words(page)
        assert product.labels.get(number=2).supplied.startswith("AN MAY_CONTAIN (Tree nuts)")
