"""Levels of texture where food is handed out: on each page and sheet a line of its own, and none where none is set."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.checks.treat import check_treat
from compliance.models import TreatCheck
from compliance.reports.cooksheet import CookSheet, cooksheet_pdf
from compliance.reports.mealcounts import MealCounts, mealcounts_pdf
from compliance.reports.roomsheet import RoomSheet, roomsheet_pdf
from compliance.reports.traycards import TrayCards, traycards_pdf
from compliance.web import orderwork, sheets, wholemeals
from tests.cast import Cast
from tests.factories import RestrictionFactory, TextureLevelFactory, recook
from tests.ownlunch import checked, day_of_it, on_hand, set_the_table
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

ASKED = "This dish states no level: do not serve it as it is. Prepare it to the level set and ask licensed staff."


@pytest.fixture
def served(cast: Cast) -> Cast:
    """Today's menu, checked; Bao has no restriction and needs food of level 5."""
    TextureLevelFactory(child=cast.bao, signatory="Dr. Example, speech")
    check_site(site=cast.ferrowick, trigger="hand")
    return cast


def beside(cast: Cast, dish: str) -> str:
    """What stands beside a dish on the page of the class."""
    rows = soup(as_user(cast.rosa).get("/today/")).select(".rows > li:has(.dish)")
    [row] = [row for row in rows if row.select_one(".dish").text == dish]
    return " ".join(row.get_text(" ").split())


class TestToday:
    """The page of a class."""

    def test_every_dish_that_states_no_level_is_asked_about(self, served: Cast) -> None:
        for dish in ("Peanut butter sandwich", "Oat bar", "Ham and rice"):
            assert f"Texture: Bao E. (food level 5). {ASKED}" in beside(served, dish)
        page = words(as_user(served.rosa).get("/today/"))
        assert "Bao E. : Food of texture level 5 (soft and moist" in page
        assert "speech" not in page and "Hakim" not in page, "neither who signed nor who recorded"

    def test_a_dish_that_states_the_level_is_not(self, served: Cast) -> None:
        recook(served.dishes.ham_and_rice, [served.larder.ham, served.larder.rice], texture=5)
        assert "Texture" not in beside(served, "Ham and rice") and "Texture" in beside(served, "Oat bar")

    def test_nothing_is_prepared_for_a_child_from_whom_it_is_withheld(self, served: Cast) -> None:
        TextureLevelFactory(child=served.mateo)
        assert "Texture: Bao E. (food level 5)." in beside(served, "Peanut butter sandwich")
        assert "Bao E. (food level 5); Mateo E. (food level 5)." in beside(served, "Ham and rice")

    def test_ordinary_food_asks_nothing(self, cast: Cast) -> None:
        TextureLevelFactory(child=cast.bao, food_level=7)
        check_site(site=cast.ferrowick, trigger="hand")
        page = words(as_user(cast.rosa).get("/today/")).split("Read the package")[0]
        assert "exture" not in page and "Bao" not in page.split("A suspected reaction")[0]

    def test_a_level_costs_one_query_whatever_the_class(self, cast: Cast) -> None:
        rosa = as_user(cast.rosa)
        without = queries(lambda: rosa.get("/today/"))
        for child in (cast.bao, cast.kofi, cast.noor):
            TextureLevelFactory(child=child)
        assert queries(lambda: rosa.get("/today/")) == without + 1


class TestKitchen:
    """Pages and sheets on which dishes are prepared: counted, and named only where children are."""

    def test_the_day_counts_by_level(self, served: Cast) -> None:
        """Mateo is not among those for whom the sandwich is prepared: it is withheld from him."""
        TextureLevelFactory(child=served.mateo)
        page = words(as_user(served.greta).get(reverse("kitchen-day"), {"site": "ferrowick"}))
        assert "Textures of that day: 2 at food level 5 (soft and moist, with small soft lumps)" in page
        assert page.count(f"Texture: 2 at food level 5. {ASKED}") == 2 and "Bao" not in page
        assert page.count(f"Texture: 1 at food level 5. {ASKED}") == 1

    def test_the_page_of_a_dish_names_them(self, served: Cast) -> None:
        page = words(as_user(served.greta).get(reverse("serving", args=[served.servings[2].pk])))
        assert f"Bao Example (food level 5). {ASKED}" in page and "speech" not in page

    def test_the_order_of_work_and_the_cooks_sheet(self, served: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
        TextureLevelFactory(child=served.saoirse)  # who does not get the ham
        made = _caught(monkeypatch, orderwork, "cooksheet_pdf", cooksheet_pdf)
        asked = {"site": "ferrowick", "day": timezone.localdate().isoformat(), "meal": "lunch"}
        greta = as_user(served.greta)
        page = words(greta.get(reverse("order-of-work"), asked))
        assert f"Ham and rice 1 at food level 5. {ASKED}" in page and "Bao" not in page
        assert greta.get(reverse("order-sheet"), asked).status_code == 200
        [sheet] = made
        assert isinstance(sheet, CookSheet)
        assert f"Ham and rice: 1 at food level 5. {ASKED}" in sheet.textures and "Bao" not in str(sheet.textures)

    def test_whoever_may_change_recipes_states_the_level(self, served: Cast) -> None:
        """Nothing is asked any more at that very level, until a newer version leaves it open."""
        pk, recipe = served.servings[2].pk, served.dishes.ham_and_rice
        tomas = as_user(served.tomas)
        assert "State the level" not in words(as_user(served.greta).get(reverse("serving", args=[pk])))
        sent = {"texture": "5", "seen": str(recipe.versions.get().number)}
        page = words(tomas.post(reverse("serving-texture", args=[pk]), sent, follow=True))
        assert "On record as a new version of Ham and rice" in page and "Nothing is asked of this dish" in page
        assert [line.product for line in recipe.versions.latest("number").lines.all()] == [
            line.product for line in recipe.versions.earliest("number").lines.all()
        ]
        page = words(tomas.post(reverse("serving-texture", args=[pk]), {**sent, "texture": "7"}, follow=True))
        assert "Nothing was recorded. The recipe was changed meanwhile" in page
        page = words(tomas.post(reverse("serving-texture", args=[pk]), {**sent, "texture": "9"}, follow=True))
        assert "Choose a level from the list" in page and recipe.versions.count() == 2
        for other in (served.greta, served.pavel, served.rosa):
            assert as_user(other).post(reverse("serving-texture", args=[pk]), sent).status_code == 404

    @pytest.mark.parametrize("name", ["kitchen-day", "order-of-work"])
    def test_another_kitchen_sees_nothing_of_it(self, served: Cast, name: str) -> None:
        assert as_user(served.pavel).get(reverse(name), {"site": "ferrowick"}).status_code == 404
        assert "level 5" not in words(as_user(served.pavel).get(reverse(name), {"site": "tansy-gate"}))


class TestMeals:
    """Meals for children with restrictions: also for those with a level and no restriction."""

    @pytest.fixture
    def kitchen(self, cast: Cast) -> Cast:
        """Tomorrow's lunch, worked out; Bao and Mateo have a level, Mateo avoids peanut too."""
        dishes = set_the_table(cast)
        on_hand(cast.ferrowick, dishes)
        recook(dishes["apple"], [cast.larder.rice], texture=5)
        for child in (cast.bao, cast.mateo):
            TextureLevelFactory(child=child)
        checked(cast)
        as_user(cast.greta).post(f"/kitchen/meals/work-out/?site=ferrowick&day={day_of_it().isoformat()}")
        return cast

    def test_the_page_says_who_needs_which_and_what_no_dish_states(self, kitchen: Cast) -> None:
        page = words(as_user(kitchen.greta).get("/kitchen/meals/", _tomorrow()))
        assert "Texture: 2 at food level 5 (soft and moist, with small soft lumps)" in page
        said = "No level stated, so not as it is: prepare to the level set and ask licensed staff:"
        assert f"Bao E. , Larks. Food of texture level 5 (soft and moist, with small soft lumps). {said}" in page
        assert f"{said} Beef and peanut rice; Milk." in page

    def test_cards_are_printed_for_both_and_counts_name_nobody(
        self, kitchen: Cast, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        cards = _caught(monkeypatch, wholemeals, "traycards_pdf", traycards_pdf)
        counts = _caught(monkeypatch, wholemeals, "mealcounts_pdf", mealcounts_pdf)
        for name in ("cards", "counts"):
            assert as_user(kitchen.greta).get(f"/kitchen/meals/{name}.pdf", _tomorrow()).status_code == 200
        [sheet], [counted] = cards, counts
        assert isinstance(sheet, TrayCards) and isinstance(counted, MealCounts)
        textured = {card.name: card for card in sheet.cards if card.texture}
        assert textured.keys() == {"Bao E.", "Mateo E."}
        assert textured["Bao E."].keep_away == () and "Apple" in textured["Bao E."].dishes
        assert textured["Bao E."].texture[1].endswith("Beef and peanut rice; Milk.")
        assert [len(levels) for levels in counted.textures] == [1] and "Bao" not in str(counted.textures)


class TestPaper:
    """What is printed, due, and told elsewhere."""

    def test_the_sheet_of_a_room_says_what_to_do(self, served: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
        made = _caught(monkeypatch, sheets, "roomsheet_pdf", roomsheet_pdf)
        as_user(served.rosa).get(reverse("room-sheet"), {"class": served.larks.pk})
        [sheet] = made
        assert isinstance(sheet, RoomSheet)
        [bao] = [child for child in sheet.children if child.name == "Bao Example"]
        assert bao.see_to[0].startswith("Food of texture level 5 (soft and moist")
        assert bao.see_to[0].endswith("not as it is; prepare it to this level and ask licensed staff.")

    @pytest.mark.parametrize(
        ("days", "said"), [(-3, "was to be renewed by"), (0, "was to be renewed by"), (20, "is to be"), (90, "")]
    )
    def test_a_level_whose_statement_runs_out_is_due(self, cast: Cast, days: int, said: str) -> None:
        """It goes on holding."""
        day = timezone.localdate()
        review_on = day + timedelta(days=days)
        TextureLevelFactory(child=cast.bao, signed_on=day - timedelta(days=300), review_on=review_on)
        page = words(as_user(cast.hakim).get(reverse("due"), {"site": "ferrowick"}))
        assert (f"Bao Example : {said}" in page) is bool(said)
        assert "Bao" not in words(as_user(cast.hakim).get(reverse("due"), {"site": "tansy-gate"}))
        assert "food level 5" in words(as_user(cast.greta).get(reverse("serving", args=[cast.servings[0].pk])))

    def test_an_exception_says_it_too(self, served: Cast) -> None:
        TextureLevelFactory(child=served.mateo, drink_level=2)
        rows = as_user(served.hakim).get("/api/v1/exceptions/", _span()).json()["results"]
        told = {row["child"]["name"]: row["seen_to"] for row in rows}
        assert len(told["Mateo Example"]) == 1 and "thickness level 2" in told["Mateo Example"][0]
        assert told["Noor Example"] == []


class TestTreat:
    """An answer in the classroom."""

    def test_what_is_offered_instead_says_that_no_level_is_stated(self, served: Cast) -> None:
        RestrictionFactory(child=served.kofi, substance="peanut")
        page = words(as_user(served.rosa).get(reverse("treat-result", args=[_treat(served).pk])))
        assert "Could be offered instead, texture apart" in page and "For Bao E. ask first." in page
        assert "to the whole class" not in page

    def test_a_level_recorded_since_is_named_as_a_change(self, served: Cast) -> None:
        check = _treat(served)
        rosa = as_user(served.rosa)
        assert rosa.get(reverse("treat-state", args=[check.pk])).status_code == 204
        TextureLevelFactory(child=served.kofi)
        assert "a level of texture" in rosa.get(reverse("treat-state", args=[check.pk])).content.decode()

    def test_the_api_lists_who_is_asked_about(self, served: Cast) -> None:
        answer = as_user(served.rosa).get(f"/api/v1/treat-checks/{_treat(served).pk}/").json()
        [row] = answer["texture"]
        assert (row["child"]["name"], row["food_level"], row["drink_level"]) == ("Bao Example", 5, None)


def _treat(cast: Cast) -> TreatCheck:
    cast.larder.rice.ready_to_eat = True
    cast.larder.rice.save()
    return check_treat(
        user=cast.rosa,
        classroom=cast.larks,
        served_at=timezone.now(),
        source=TreatCheck.Source.PASTED,
        food="Peanut cookies",
        label=cast.larder.peanut_butter.labels.get(),
    )


def _caught(monkeypatch: pytest.MonkeyPatch, module: Any, name: str, printer: Callable[[Any], bytes]) -> list[Any]:
    """What a page hands to the printer, which prints it all the same."""
    made: list[Any] = []

    def keep(sheet: Any) -> bytes:
        made.append(sheet)
        return printer(sheet)

    monkeypatch.setattr(module, name, keep)
    return made


def _tomorrow() -> dict[str, str]:
    return {"site": "ferrowick", "day": day_of_it().isoformat()}


def _span() -> dict[str, str]:
    day = timezone.localdate().isoformat()
    return {"first": day, "last": day}
