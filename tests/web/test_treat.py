"""Check a treat: the question."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone

from compliance.models import TreatCheck
from compliance.web import treat_form
from menus.models import Label, Product
from tests.cast import Cast
from tests.factories import ProductFactory, SiteFactory, gtin, labelled
from tests.web.pages import as_user, soup, words

CUPCAKES = "Ingredients: sugar, wheat flour, eggs, whey powder.\r\nContains: Wheat, Egg, Milk."


def ask(cast: Cast, **said: Any) -> HttpResponse:
    """Send Rosa's form and stay on what comes back."""
    return as_user(cast.rosa).post("/treat/", {"when": "now", **said})


def answered(response: HttpResponse) -> TreatCheck:
    """Return the check that the page went on to."""
    assert response.status_code == 302, words(response)
    check = TreatCheck.objects.latest("recorded_at")
    assert response.url == f"/treat/{check.pk}/"
    return check


class TestNamingTheFood:
    def test_by_number(self, cast: Cast) -> None:
        """Typed with spaces, as it is printed."""
        bar = labelled("oats, milk chocolate", name="Oat crunch", gtin=gtin(7))
        check = answered(ask(cast, gtin=f"{bar.gtin[1:7]} {bar.gtin[7:]}"))
        assert (check.source, check.food, check.label.product) == ("gtin", "Oat crunch", bar)

    def test_by_a_product_seen_before(self, cast: Cast) -> None:
        """The button of a match sends at once."""
        check = answered(ask(cast, product=cast.larder.oat_bar.pk, words="oat"))
        assert (check.source, check.food) == ("product", "Oat bar")

    def test_by_its_label(self, cast: Cast) -> None:
        """The words are kept as one label version, read today by who pasted them."""
        check = answered(ask(cast, text=CUPCAKES, name="Cupcakes"))
        assert (check.source, check.food, check.label.seen_by) == ("pasted", "Cupcakes", cast.rosa)
        assert check.label.ingredients == CUPCAKES.replace("\r\n", "\n")
        assert check.label.product.origin == Product.Origin.CLASSROOM

    def test_by_saying_that_it_has_no_label(self, cast: Cast) -> None:
        """Nothing is known, so every restriction is referred and nothing is none found by silence."""
        check = answered(ask(cast, no_label="on"))
        assert check.label is None
        assert len({row["child_id"] for row in check.result["refer"]}) == 7
        assert check.result["none_found"] == 1  # Bao, who has no restriction

    def test_made_at_home(self, cast: Cast) -> None:
        """A list of ingredients from a home kitchen is judged as one."""
        check = answered(ask(cast, text="rice, sugar", home_made="on"))
        assert check.home_made
        assert {row["outcome"] for row in check.result["refer"]} == {"refer"}
        assert len({row["child_id"] for row in check.result["refer"]}) == 7

    def test_enter_needs_no_button(self, cast: Cast) -> None:
        """What is filled in says what is meant; a name typed leads to its matches."""
        page = ask(cast, words="oat")
        assert soup(page).select_one("#matches button").text.startswith("Oat bar")
        assert not TreatCheck.objects.exists()

    def test_find_looks_for_the_name_whatever_else_was_typed(self, cast: Cast) -> None:
        """Half a label must not be checked because somebody pressed Find; it is kept in its field."""
        page = ask(cast, words="oat", text="sugar, whe", by="name")
        assert soup(page).select("#matches button")
        assert soup(page).find("textarea").text.strip() == "sugar, whe"
        assert not TreatCheck.objects.exists()


class TestUnknownNumber:
    def test_it_says_so_and_asks_for_the_label(self, cast: Cast) -> None:
        """The number stays in its field, and the cursor is where the label goes."""
        page = ask(cast, gtin=gtin(99))
        assert f"No food with the number {gtin(99)} is on record." in words(page)
        assert soup(page).find("input", {"name": "gtin"})["value"] == gtin(99)
        assert soup(page).find("textarea").has_attr("autofocus")

    def test_the_label_pasted_for_it_is_kept_for_next_time(self, cast: Cast) -> None:
        """The second teacher, of another class, needs the number only."""
        answered(ask(cast, gtin=gtin(99), text=CUPCAKES, name="Cupcakes"))
        second = as_user(cast.dmitri).post("/treat/", {"when": "now", "gtin": gtin(99)})
        assert answered(second).food == "Cupcakes"

    def test_a_product_on_record_without_a_label_asks_for_it_too(self, cast: Cast) -> None:
        """Its name and number are filled in."""
        product = ProductFactory(name="Fruit roll", gtin=gtin(5))
        page = ask(cast, product=product.pk)
        assert "Fruit roll is on record, but its label is not." in words(page)
        assert soup(page).find("input", {"name": "gtin"})["value"] == gtin(5)

    def test_a_pasted_label_never_becomes_the_label_of_a_kitchen_product(self, cast: Cast) -> None:
        """Half a label pasted in a hurry must not make a menu look better; the check itself uses the words in hand."""
        bar = labelled("oats, peanuts", name="Oat crunch", gtin=gtin(7))
        check = answered(ask(cast, gtin=bar.gtin, text="oats"))
        assert check.label.ingredients == "oats"
        assert bar.labels.get().ingredients == "oats, peanuts"


class TestWhen:
    def test_now_is_now(self, cast: Cast) -> None:
        """To the minute."""
        check = answered(ask(cast, no_label="on"))
        assert abs(check.served_at - timezone.now()) < timedelta(minutes=1)

    def test_another_time_is_site_time(self, cast: Cast) -> None:
        """A time is typed as the clock on the wall of the site shows it."""
        day = timezone.now().astimezone(cast.ferrowick.zone).date() + timedelta(days=2)
        check = answered(ask(cast, no_label="on", when="other", day=day.isoformat(), clock="10:15"))
        assert check.served_at == datetime(day.year, day.month, day.day, 10, 15, tzinfo=cast.ferrowick.zone)

    @pytest.mark.parametrize(("hour", "offered"), [(8, True), (20, False)])
    def test_today_s_snack_is_offered_until_it_is_past(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch, hour: int, offered: bool
    ) -> None:
        """A choice that cannot be meant any more is not shown."""
        moment = timezone.now().astimezone(cast.ferrowick.zone).replace(hour=hour)
        monkeypatch.setattr(treat_form.timezone, "now", lambda: moment)
        page = as_user(cast.rosa).get("/treat/")
        assert bool(soup(page).select("input[value=snack]")) is offered

    @pytest.mark.parametrize(
        ("said", "message"),
        [
            ({"day": "2020-01-06", "clock": "10:00"}, "is past"),
            ({"day": "2099-01-06", "clock": "10:00"}, "days ahead"),
            ({"day": "", "clock": "10:00"}, "needs a day and a time"),
            ({"day": "soon", "clock": "10:00"}, "no day of the calendar"),
            ({"day": "2099-01-06", "clock": "noon"}, "no time of day"),
        ],
    )
    def test_a_time_that_cannot_be_meant_is_refused(self, cast: Cast, said: dict[str, str], message: str) -> None:
        """With what is wrong and how to mend it; the label typed is still there."""
        page = ask(cast, when="other", text=CUPCAKES, **said)
        assert message in words(page)
        assert "whey powder" in soup(page).find("textarea").text
        assert not TreatCheck.objects.exists()


class TestBadInput:
    def test_nothing_filled_in(self, cast: Cast) -> None:
        """The page says what it needs."""
        assert "does not know yet what the food is" in words(ask(cast))

    def test_a_wrong_check_digit(self, cast: Cast) -> None:
        """Refused by name, and left in the field to be mended."""
        wrong = gtin(1)[:-1] + str((int(gtin(1)[-1]) + 1) % 10)
        page = ask(cast, gtin=wrong)
        assert "one of them is mistyped" in words(page)
        assert soup(page).find("input", {"name": "gtin"})["value"] == wrong

    def test_a_label_over_the_limit_is_refused_whole(self, cast: Cast) -> None:
        """Not cut short: a label cut short could lose its last line."""
        page = ask(cast, text="sugar, " * 3000)
        assert "This text has 21,000 characters, and a label here may have 20,000." in words(page)
        assert len(soup(page).find("textarea").text.strip()) > 20_000
        assert not soup(page).find("textarea").has_attr("maxlength")
        assert not Label.objects.filter(ingredients__startswith="sugar, sugar").exists()

    def test_a_label_and_no_label_at_once(self, cast: Cast) -> None:
        """Neither is dropped in silence."""
        assert "also said that the food has no label" in words(ask(cast, text="peanuts", no_label="on"))
        assert not TreatCheck.objects.exists()

    def test_a_new_number_and_no_label_to_read(self, cast: Cast) -> None:
        """The page that asks for a new number's label offers “It has no label”; the number may stay where it is."""
        page = ask(cast, gtin=gtin(77))
        assert "use “It has no label”" in words(page)
        kept = soup(page).select_one("input[name=gtin]")["value"]
        check = answered(ask(cast, gtin=kept, no_label="on"))
        assert len({row["child_id"] for row in check.result["refer"]}) == 7
        assert check.food == f"Food with the number {gtin(77)}"

    def test_nothing_is_half_saved(self, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
        """When the check fails the label pasted for it is not kept either."""

        def fail(**asked: Any) -> None:
            raise RuntimeError("no answer")

        monkeypatch.setattr("compliance.checks.treatfood.check_treat", fail)
        before = Product.objects.count()
        with pytest.raises(RuntimeError, match="no answer"):
            ask(cast, text=CUPCAKES)
        assert Product.objects.count() == before

    def test_control_characters_in_a_label_do_no_harm(self, cast: Cast) -> None:
        """A NUL is stored by no database; the page answers all the same."""
        assert ask(cast, text="peanut\x00s, salt").status_code in (200, 302)

    def test_markup_in_a_label_is_shown_as_text(self, cast: Cast) -> None:
        """Label words never become part of the page."""
        check = answered(ask(cast, text="<script>alert(1)</script> peanuts", name="<b>Bar</b>"))
        page = as_user(cast.rosa).get(f"/treat/{check.pk}/")
        assert b"<script>alert" not in page.content
        assert b"<b>Bar" not in page.content


class TestAccess:
    def test_another_class_is_not_found(self, cast: Cast) -> None:
        """Neither to look at nor to send to."""
        client = as_user(cast.dmitri)
        assert client.get(f"/treat/?class={cast.larks.pk}").status_code == 404
        assert client.post("/treat/", {"when": "now", "no_label": "on", "class": cast.larks.pk}).status_code == 404
        assert not TreatCheck.objects.exists()

    def test_a_product_of_another_site_is_not_offered(self, cast: Cast) -> None:
        """Neither found by name nor taken by number."""
        elsewhere = labelled("sugar", name="Oat moon", site=SiteFactory())
        assert b"Oat moon" not in as_user(cast.rosa).get("/treat/matches/?words=oat").content
        assert "not on record here" in words(ask(cast, product=elsewhere.pk))

    def test_the_nurse_may_check_for_any_class(self, cast: Cast) -> None:
        """The class is chosen from a list."""
        client = as_user(cast.hakim)
        assert len(soup(client.get("/treat/")).select("select[name=class] option")) == 2
        answered(client.post("/treat/", {"when": "now", "no_label": "on", "class": cast.minnows.pk}))


def test_search_as_you_type_answers_with_the_same_list(cast: Cast) -> None:
    """One partial serves page and fragment; a single letter finds nothing yet."""
    client = as_user(cast.rosa)
    assert b"Oat bar" in client.get("/treat/matches/?words=oat").content
    assert b"<button" not in client.get("/treat/matches/?words=o").content
    assert "Paste its label" in client.get("/treat/matches/?words=zzz").content.decode()
    assert b"Oat bar" in client.get("/treat/matches/?words=oat%00").content


def test_foods_checked_lately_are_one_tap(cast: Cast) -> None:
    """Each once, the newest first, of this class only."""
    for product in (cast.larder.oat_bar, cast.larder.yogurt, cast.larder.oat_bar):
        ask(cast, product=product.pk)
    recent = soup(as_user(cast.rosa).get("/treat/")).select("section:has(#recent) button")
    assert [button.text for button in recent] == ["Oat bar", "Yogurt"]
    assert not soup(as_user(cast.dmitri).get("/treat/")).select("#recent")
