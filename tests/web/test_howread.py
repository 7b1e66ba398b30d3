"""How a label was read, as a page: the same walk that `show_label` prints."""

from __future__ import annotations

import pytest
from bs4 import BeautifulSoup, Tag
from django.urls import reverse

from compliance.web.howread_page import MEANS, VOICES
from menus.labels.cues import Voice
from menus.labels.label import LONGEST_LABEL
from menus.labels.lexicon import Meaning
from menus.models import Label
from tests.cast import Cast
from tests.factories import labelled
from tests.web.pages import as_user, queries, soup

pytestmark = pytest.mark.django_db


def how(cast: Cast, label: Label) -> BeautifulSoup:
    """The page, as Greta sees it."""
    return soup(as_user(cast.greta).get(reverse("label-how", args=[label.pk])))


def lines(page: BeautifulSoup) -> dict[str, Tag]:
    """Each line by its words."""
    return {said(line.select_one(".words")): line for line in page.select(".tree > li")}


def said(tag: Tag | None) -> str:
    """The words of it, with single spaces."""
    assert tag is not None
    return " ".join(tag.get_text().split())


def test_the_list_nests_and_every_word_says_what_is_known_of_it(cast: Cast) -> None:
    """What it means, from which source, and whether anybody saw that source."""
    page = how(cast, labelled("Chocolate (salt, whey), zorbalex. May contain egg").labels.get())
    shown = lines(page)
    assert "depth-2" in shown["Level 2: whey"]["class"]
    assert "whey: made from milk [" in said(shown["Level 2: whey"])
    assert "salt: an ordinary ingredient [" in said(shown["Level 2: salt"])
    assert "what it is made of is told" in said(shown["Chocolate"])
    assert said(shown["May contain egg"].select_one(".voice")) == "may contain"
    assert "“egg”: names egg [" in said(shown["May contain egg"])
    assert "“zorbalex”: not understood." in said(shown["zorbalex"])


def test_every_number_leads_to_a_source_that_is_told_once(cast: Cast) -> None:
    """With whether anybody saw it."""
    page = how(cast, labelled("salt, sea salt, whey, natural flavor").labels.get())
    numbers = {link["href"].removeprefix("#") for link in page.select("a[href^='#source-']")}
    sources = {line["id"]: said(line) for line in page.select("[id^='source-']")}
    assert numbers == sources.keys()
    assert len(set(sources.values())) == len(sources)
    assert any(source.endswith("(from memory, not seen)") for source in sources.values())


def test_words_are_marked_in_place(cast: Cast) -> None:
    """Outlined where they name something, hatched where they are not understood; the rest is left alone."""
    page = how(cast, labelled("salt, zorbalex whey").labels.get())
    marked = {mark.get_text(): mark["class"][0] for mark in page.select(".tree mark")}
    assert marked == {"zorbalex": "mark-refer", "whey": "mark-none-found"}


def test_what_it_all_says_comes_gravest_first(cast: Cast) -> None:
    """With the words, the manner and the source; a slip says what it is taken for."""
    page = how(cast, labelled("zorbalex, whey. May contain egg", label={"contains": "milk"}).labels.get())
    sums = [said(term) for term in page.select(".sums dt")]
    assert sums == ["Milk: present", "Egg: possible", "Anything: not understood"]
    milk = said(page.select_one(".sums dd"))
    assert "“whey”: made from it" in milk and "“milk”: declared" in milk


def test_claims_are_shown_as_what_they_are(cast: Cast) -> None:
    """They change nothing."""
    page = how(cast, labelled("rice", label={"claims": "Dairy-free"}).labels.get())
    assert "“Dairy”: free of milk" in said(page.find("main"))


def test_a_label_that_says_nothing_known_says_so(cast: Cast) -> None:
    """Silence is not absence."""
    page = how(cast, labelled("water, salt").labels.get())
    assert "What the label leaves out, nobody has read." in said(page.find("main"))


@pytest.mark.parametrize(
    "text",
    [
        "(" * LONGEST_LABEL,
        "a(" * (LONGEST_LABEL // 2),
        "milk," * (LONGEST_LABEL // 5),
        "zorbalex " * 2000,
        "a: b (c [d",
    ],
    ids=["brackets", "nested", "long", "unread", "crossed"],
)
def test_any_label_can_be_shown(cast: Cast, text: str) -> None:
    """However deep it nests and however long it is; the page does not nest with it."""
    response = as_user(cast.greta).get(reverse("label-how", args=[labelled(text).labels.get().pk]))
    assert response.status_code == 200
    assert response.content.decode().count("<ol") <= 2  # the list, and the sources


def test_queries_do_not_grow(cast: Cast) -> None:
    """The same for a label with one unread word as for one with many."""
    greta = as_user(cast.greta)
    small, large = (labelled(text).labels.get() for text in ("zorbalex", " ".join(f"zorb{n}alex," for n in range(40))))
    # session, user, posts, sites; the label, words accepted, proposals of its words; roles for the menu
    counts = [queries(lambda one=one: greta.get(reverse("label-how", args=[one.pk]))) for one in (small, large)]
    assert counts == [8, 8]


def test_every_voice_and_meaning_has_words() -> None:
    """A new one must not show as its code."""
    assert VOICES.keys() == set(Voice) - {Voice.INGREDIENT}
    assert MEANS.keys() == set(Meaning)
