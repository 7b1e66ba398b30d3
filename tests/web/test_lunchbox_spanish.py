"""The lunchbox in Spanish: every word of ours, advice and shapes too. What a label or a source says stays as it is."""

from __future__ import annotations

import re
from datetime import time, timedelta

import pytest
from django.utils import timezone, translation

from compliance.web.lunchbox_advice import age_says
from compliance.web.lunchbox_elsewhere import AMINO_ACIDS, BALANCE, PORTIONS, SHAPES
from menus.mealpattern import aminos
from menus.mealpattern.balance import NOTHING, ONE_OF_THEM
from menus.mealpattern.choking import ASK_FORM, ASK_WHETHER, Advice, Choking
from menus.mealpattern.hazards import hazards, rows
from menus.mealpattern.household import household_foods
from roster.life.lunchbox import Packed, save_box
from tests.cast import Cast
from tests.factories import TextureLevelFactory, labelled
from tests.web.pages import as_user, soup

ENGLISH = re.compile(
    r"\b(ask|cut|quarter|halve|here|found|counted|fruit|milk|grains|colors|orange|green|cup|slice|oz|box|keep|food|day)\b",
    re.IGNORECASE,
)


def test_what_the_pure_packages_say_is_marked_as_it_stands_there() -> None:
    """They know no translation, so that only this keeps the two in step."""
    assert set(SHAPES) == {row["what"] for row in rows("choking.csv")} | {ASK_WHETHER, ASK_FORM}
    table = list(rows("balance.csv"))
    assert set(BALANCE) == {row[of] for row in table for of in ("what", "name")} | {ONE_OF_THEM, NOTHING}
    assert set(PORTIONS) == {food.portion for food in household_foods().values()}
    assert set(AMINO_ACIDS) == {amino.replace("_", " + ") for amino in aminos.AMINO_ACIDS}


@pytest.mark.parametrize("advice", Advice)
def test_whatever_the_list_of_hazards_says_has_its_spanish(advice: Advice) -> None:
    """Of every hazard, asked first or not."""
    for hazard in hazards():
        english = Choking(hazard, "grapes", advice, 48).what
        with translation.override("es"):
            assert age_says(english) != english and not ENGLISH.search(age_says(english)), english
        with translation.override("en"):
            assert age_says(english).casefold() == english.casefold()


def test_no_english_is_left_on_the_page(cast: Cast) -> None:
    """A box that meets all there is: a label, a spread, an age, a texture, times, balance and protein."""
    today = timezone.localdate()
    monday = today + timedelta(days=7 - today.weekday())
    cast.noor.birth_date = today - timedelta(days=3 * 366)
    cast.noor.save()
    TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim, food_level=5, drink_level=2)
    items = [
        Packed("Grapes", household="grapes", form="halved", keeps="cold"),
        Packed("Apple", household="apple", keeps="any"),
        Packed("Bread, whole wheat", household="bread", keeps="any"),
        Packed("Zumbo", words="trigo", seen_on=today, keeps="hot"),
        Packed("Crema de girasol", product=labelled("sunflower seeds", name="Sunflower seed butter"), keeps="any"),
    ]
    times = {"packed_at": time(7), "eaten_at": time(12)}
    save_box(child=cast.noor, day=monday, items=items, by=cast.amara, replaces=None, **times)
    client = as_user(cast.amara)
    for address in (
        f"/lunchboxes/{cast.noor.pk}/?language=es&day={monday}",
        f"/lunchboxes/?language=es&week={monday}",
        f"/lunchboxes/list/?language=es&week={monday}",
    ):
        main = soup(client.get(address)).find("main")
        for quoted in main.select('[lang="en"], details.small, select, .caution'):
            quoted.decompose()
        text = main.get_text(" ", strip=True)
        assert not ENGLISH.search(text), (address, ENGLISH.findall(text), text)
        assert "Uvas" in text or "Alimentos:" in text
