"""Labels to read, label versions, and products with theirs."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from menus.labels.label import LONGEST_LABEL
from menus.models import Label, Product
from menus.models.product import Regulator
from tests.cast import Cast
from tests.factories import LabelFactory, ProductFactory, cooked, gtin, labelled
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

BUNS = "enriched wheat flour, water, sugar, yeast, soybean oil, salt. Contains: Wheat. May contain sesame."


def save(cast: Cast, product: Product, **typed: str) -> HttpResponse:
    """Greta fills in the label form and saves it."""
    filled = {"ingredients": BUNS, "seen_on": timezone.localdate().isoformat(), **typed}
    return as_user(cast.greta).post(reverse("label-new", args=[product.pk]), filled, follow=True)


def long_ago() -> date:
    return timezone.localdate() - timedelta(days=400)


class TestWork:
    """The list of labels that somebody must read."""

    def work(self, cast: Cast) -> list[str]:
        page = soup(as_user(cast.greta).get(reverse("label-work")))
        return [" ".join(row.get_text(" ").split()) for row in page.select(".rows > li")]

    def test_what_is_in_order_is_not_work(self, cast: Cast) -> None:
        """Readable labels of today make no list."""
        assert "No product of the recipes on record" in words(as_user(cast.greta).get(reverse("label-work")))

    def test_missing_stale_and_unread_labels_are_work_the_most_used_first(self, cast: Cast) -> None:
        """Each line says what is the matter and how many recipes wait."""
        missing = ProductFactory(name="Stock cubes")
        old = labelled("rice, salt", name="Old crackers", label={"seen_on": long_ago()})
        unread = labelled("rice, zorbalex, salt", name="Odd snack")
        cooked("Soup", missing, old)
        cooked("Broth", missing)
        cooked("Bowl", unread)
        rows = self.work(cast)
        assert "Stock cubes" in rows[0]
        assert "No label on record. 2 recipes wait" in rows[0]
        assert any("Old crackers" in row and "too long ago" in row and "1 recipe waits" in row for row in rows)
        assert any("Odd snack" in row and "Not understood: “zorbalex”" in row for row in rows)

    def test_a_product_in_no_recipe_is_no_work(self, cast: Cast) -> None:
        """Nobody waits for it."""
        ProductFactory(name="Stock cubes")
        assert self.work(cast) == []

    def test_a_treat_of_a_classroom_is_no_work_for_the_kitchen(self, cast: Cast) -> None:
        """It reads what it buys."""
        treat = ProductFactory(name="Cupcakes", origin=Product.Origin.CLASSROOM)
        cooked("Party", treat)
        assert self.work(cast) == []

    def test_queries_do_not_grow(self, cast: Cast) -> None:
        """The list costs the same for one product as for twenty."""
        greta = as_user(cast.greta)
        cooked("Soup", ProductFactory())
        small = queries(lambda: greta.get(reverse("label-work")))
        for n in range(19):
            cooked(f"Soup {n}", ProductFactory())
        # session, user, posts, sites; words accepted; recipe versions, their lines, what is on the plan; products,
        # their labels; roles
        assert queries(lambda: greta.get(reverse("label-work"))) == small == 11


class TestNewVersion:
    """Recording what the package says now."""

    def test_a_label_is_saved_as_the_next_version_and_shown_as_it_was_read(self, cast: Cast) -> None:
        """The old version stays; the page shows what was understood and marks it in place."""
        page = save(cast, cast.larder.bread)
        assert [label.ingredients for label in cast.larder.bread.labels.order_by("number")] == [
            "whole wheat flour, water, yeast, salt",
            BUNS,
        ]
        assert cast.larder.bread.labels.get(number=2).seen_by == cast.greta
        assert "Saved as label 2" in words(page)
        assert "sesame" in [mark.get_text() for mark in soup(page).select("mark.mark-withhold")]

    def test_it_says_what_differs_from_the_version_before(self, cast: Cast) -> None:
        """A new sesame warning must not slip by."""
        shown = words(save(cast, cast.larder.bread))
        assert "Sesame : was not named, now possible" in shown

    def test_a_label_that_says_less_warns_of_packages_with_the_earlier_one(self, cast: Cast) -> None:
        """S62. Two lots on the shelf, and one label that counts: before it is saved, and on its page."""
        address = reverse("label-new", args=[cast.larder.bread.pk])
        filled = {"ingredients": "rice flour, water, salt", "seen_on": timezone.localdate().isoformat()}
        look = words(as_user(cast.greta).post(address, filled | {"preview": "1"}))
        assert "The later label says less." in look and "do not save this here" in look
        assert "record its label again" in words(save(cast, cast.larder.bread, **filled))

    def test_one_that_says_more_does_not(self, cast: Cast) -> None:
        """Every check reads it from now on."""
        assert "says less" not in words(save(cast, cast.larder.bread))

    def test_the_form_starts_empty_so_that_nobody_saves_old_words_unread(self, cast: Cast) -> None:
        """Old words come only when somebody asks to mend a slip in them."""
        address = reverse("label-new", args=[cast.larder.bread.pk])
        greta = as_user(cast.greta)
        assert soup(greta.get(address)).find(id="id_ingredients").get_text().strip() == ""
        copied = soup(greta.get(address, {"copy": "1"})).find(id="id_ingredients").get_text().strip()
        assert copied == "whole wheat flour, water, yeast, salt"

    def test_a_look_before_saving_saves_nothing(self, cast: Cast) -> None:
        """The button and the live look show the same reading."""
        greta, bread = as_user(cast.greta), cast.larder.bread
        typed = {"ingredients": BUNS, "seen_on": timezone.localdate().isoformat(), "product": bread.pk}
        by_button = greta.post(reverse("label-new", args=[bread.pk]), {**typed, "preview": "1"})
        live = greta.post(reverse("label-preview"), typed)
        assert soup(live).find(id="reading") == soup(by_button).find(id="reading")
        assert "Sesame: “sesame” (may contain)" in " ".join(soup(live).get_text().split())
        assert bread.labels.count() == 1

    def test_a_word_that_was_not_understood_is_shown_with_a_guess(self, cast: Cast) -> None:
        """A slip of the pen can be mended before it counts."""
        page = as_user(cast.greta).post(reverse("label-preview"), {"ingredients": "rice, yogrt, zorbalex"})
        shown = " ".join(soup(page).get_text(" ").split())
        assert "“yogrt” (spelt almost like: yogurt)" in shown
        assert "“zorbalex”: if it is spelt as on the package" in shown

    def test_claims_are_kept_and_said_to_change_nothing(self, cast: Cast) -> None:
        """“Non-dairy” beside caseinate is milk."""
        typed = {"ingredients": "corn syrup, sodium caseinate", "claims": "Non-dairy creamer"}
        shown = " ".join(soup(as_user(cast.greta).post(reverse("label-preview"), typed)).get_text(" ").split())
        assert "Milk : “sodium caseinate”" in shown

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"ingredients": " "}, "The label is empty. Type what the package says"),
            ({"ingredients": "x" * (LONGEST_LABEL + 1)}, "has 20,001 characters, and a label here may have 20,000"),
            ({"ingredients": "x" * 15_000, "claims": "y" * 6_000}, "has 21,000 characters"),
            ({"seen_on": ""}, "Give the day on which somebody read the package"),
            ({"seen_on": "2999-01-01"}, "2999-01-01 is still to come"),
        ],
    )
    def test_what_cannot_be_a_label_is_refused_and_kept_in_the_form(
        self, cast: Cast, typed: dict[str, str], told: str
    ) -> None:
        """What is wrong and how to mend it; nothing is saved, and nothing typed is lost."""
        page = save(cast, cast.larder.bread, **typed)
        assert told in words(page)
        kept = soup(page).find(id="id_ingredients").get_text().strip()
        assert kept == typed.get("ingredients", BUNS).strip()
        assert cast.larder.bread.labels.count() == 1

    def test_any_line_ends_are_kept_as_one_kind(self, cast: Cast) -> None:
        """A browser sends two characters a line end; spans count one."""
        save(cast, cast.larder.bread, ingredients="rice,\r\nmilk")
        assert cast.larder.bread.labels.get(number=2).ingredients == "rice,\nmilk"

    def test_a_long_paste_is_not_cut_by_the_browser(self, cast: Cast) -> None:
        """No maxlength: it would drop the end of the label without a word."""
        page = soup(as_user(cast.greta).get(reverse("label-new", args=[cast.larder.bread.pk])))
        assert not page.select("textarea[maxlength]")


class TestSame:
    """Read again, and word for word the same."""

    def test_one_tap_renews_the_date(self, cast: Cast) -> None:
        """A stale label becomes a new version of today with the same words."""
        crackers = labelled("rice, salt", label={"seen_on": long_ago(), "contains": "nothing"})
        address = reverse("label-same", args=[crackers.pk])
        as_user(cast.greta).post(address, {"label": crackers.labels.get().pk})
        old, new = crackers.labels.order_by("number")
        assert (new.ingredients, new.contains) == (old.ingredients, old.contains)
        assert (new.seen_on, new.seen_by) == (timezone.localdate(), cast.greta)

    def test_not_when_somebody_recorded_another_label_meanwhile(self, cast: Cast) -> None:
        """The words on the screen are no longer those on record."""
        seen = cast.larder.bread.labels.get()
        LabelFactory(product=cast.larder.bread, ingredients=BUNS)
        page = as_user(cast.greta).post(
            reverse("label-same", args=[cast.larder.bread.pk]), {"label": seen.pk}, follow=True
        )
        assert "a newer label was recorded meanwhile" in words(page)
        assert cast.larder.bread.labels.count() == 2

    @pytest.mark.parametrize("sent", ["", "nonsense", "999999"])
    def test_a_label_that_is_not_the_products_is_not_there(self, cast: Cast, sent: str) -> None:
        """And leaves nothing behind."""
        address = reverse("label-same", args=[cast.larder.bread.pk])
        assert as_user(cast.greta).post(address, {"label": sent}).status_code == 404
        assert cast.larder.bread.labels.count() == 1


class TestProducts:
    """Finding a product, and adding one."""

    def test_a_number_on_record_leads_straight_to_its_product(self, cast: Cast) -> None:
        """Spaces in it do not matter."""
        buns = labelled(BUNS, name="Buns", gtin=gtin(7))
        typed = f"{gtin(7)[1:8]} {gtin(7)[8:]}"
        response = as_user(cast.greta).get(reverse("products"), {"q": typed})
        assert response.headers["Location"] == reverse("product", args=[buns.pk])

    def test_a_new_number_leads_to_a_new_product(self, cast: Cast) -> None:
        """The number is filled in already; while it is typed, the list offers the same."""
        greta = as_user(cast.greta)
        page = greta.get(reverse("products"), {"q": gtin(8)}, follow=True)
        assert soup(page).find(id="id_gtin")["value"] == gtin(8)
        assert "No product here has this number yet" in words(page)
        typing = soup(greta.get(reverse("products"), {"q": gtin(8)}, headers={"HX-Request": "true"}))
        offered = typing.find("a", string="Record this new product and its label")["href"]
        assert offered == f"{reverse('product-new')}?gtin={gtin(8)}"

    def test_a_mistyped_number_is_said_to_be_one(self, cast: Cast) -> None:
        """Its check digit does not fit (GS1 General Specifications, 7.9)."""
        wrong = gtin(8)[:-1] + str((int(gtin(8)[-1]) + 1) % 10)
        assert "mistyped" in words(as_user(cast.greta).get(reverse("products"), {"q": wrong}))

    def test_searching_while_typing_gives_the_same_list(self, cast: Cast) -> None:
        """The fragment is the part of the page."""
        greta = as_user(cast.greta)
        whole = soup(greta.get(reverse("products"), {"q": "oat"})).find(id="found")
        part = soup(greta.get(reverse("products"), {"q": "oat"}, headers={"HX-Request": "true"})).find(id="found")
        assert whole == part
        assert "1 product for “oat”" in " ".join(part.get_text().split())

    def test_what_only_another_site_may_use_is_not_there(self, cast: Cast) -> None:
        """A product of one site is no other's to see or change."""
        theirs = labelled(BUNS, name="Their buns", site=cast.tansy_gate)
        greta = as_user(cast.greta)
        assert "Their buns" not in words(greta.get(reverse("products")))
        for name, pk in [("product", theirs.pk), ("label-new", theirs.pk), ("label", theirs.labels.get().pk)]:
            assert greta.get(reverse(name, args=[pk])).status_code == 404

    @pytest.mark.parametrize("page", ["label-work", "products", "product-new"])
    def test_teachers_and_strangers_have_no_such_pages(self, cast: Cast, page: str) -> None:
        """They are for those who buy and read."""
        assert as_user(cast.rosa).get(reverse(page)).status_code == 404
        assert as_user(cast.wren).get(reverse(page)).status_code == 404

    def add(self, cast: Cast, **typed: str) -> HttpResponse:
        filled = {"name": "Buns", "ingredients": BUNS, "seen_on": timezone.localdate().isoformat(), **typed}
        return as_user(cast.greta).post(reverse("product-new"), filled, follow=True)

    def test_a_case_of_buns_is_added_with_its_label_in_one_go(self, cast: Cast) -> None:
        """Number, name, label: saved together."""
        self.add(cast, gtin=gtin(9)[1:], supplier="Mill Lane Bakers")
        buns = Product.objects.get(name="Buns")
        assert (buns.gtin, buns.code, buns.supplier.name) == (gtin(9), gtin(9), "Mill Lane Bakers")
        assert buns.labels.get().ingredients == BUNS

    def test_a_product_may_come_without_its_label_and_says_what_follows(self, cast: Cast) -> None:
        """Nothing is known of it until then."""
        page = self.add(cast, ingredients="")
        assert "every dish made with it is referred" in words(page)
        assert Product.objects.get(name="Buns").code.startswith("item-")

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"name": ""}, "Give the product a name"),
            ({"gtin": "12345"}, "it has 5 digits, and a GTIN has 8, 12, 13 or 14"),
            ({"gtin": gtin(1)}, "This number is on record already"),
            ({"code": "taken"}, "Another product has this item number"),
            ({"ingredients": "x" * (LONGEST_LABEL + 1)}, "has 20,001 characters"),
        ],
    )
    def test_what_is_wrong_saves_neither_product_nor_label(self, cast: Cast, typed: dict[str, str], told: str) -> None:
        """Both or none, and the form keeps what was typed."""
        ProductFactory(name="Rolls", gtin=gtin(1), code="taken")
        labels, products = Label.objects.count(), Product.objects.count()
        page = self.add(cast, **typed)
        assert told in words(page)
        assert soup(page).find(id="id_supplier") is not None
        assert (Label.objects.count(), Product.objects.count()) == (labels, products)

    def test_a_number_known_from_a_treat_passes_to_the_kitchens_product(self, cast: Cast) -> None:
        """Half a label pasted in a classroom never becomes the label of what the kitchen buys."""
        treat = labelled("sugar", name="Cupcakes", gtin=gtin(5), origin=Product.Origin.CLASSROOM)
        self.add(cast, gtin=gtin(5))
        treat.refresh_from_db()
        assert (treat.gtin, treat.labels.get().ingredients) == (None, "sugar")
        assert Product.objects.get(gtin=gtin(5)).labels.get().ingredients == BUNS

    def test_meat_is_read_under_its_own_law(self, cast: Cast) -> None:
        """The look before saving follows what is chosen beside the label."""
        looks = [
            soup(as_user(cast.greta).post(reverse("label-preview"), {"ingredients": "beef, natural flavor", **law}))
            for law in ({}, {"regulator": Regulator.FSIS})
        ]
        food_law, meat_law = (" ".join(look.get_text(" ").split()) for look in looks)
        assert "Milk : “natural flavor” (may be made from it)" not in food_law
        assert "Milk : “natural flavor” (may be made from it)" in meat_law

    def test_queries_do_not_grow(self, cast: Cast) -> None:
        """The list and a product cost the same for few as for many."""
        greta = as_user(cast.greta)
        pages = [reverse("products"), reverse("product", args=[cast.larder.bread.pk])]
        small = [queries(lambda page=page: greta.get(page)) for page in pages]
        for n in range(30):
            labelled(BUNS, name=f"Bun {n}")
            LabelFactory(product=cast.larder.bread)
            cooked(f"Burger {n}", cast.larder.bread)
        # session, user, all-sites post?, sites; how many, products, their labels; roles for the menu
        # session, user, all-sites post?, sites; product, its labels; roles for the menu, recipes
        assert [queries(lambda page=page: greta.get(page)) for page in pages] == small == [8, 8]
