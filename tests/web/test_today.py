"""My class today."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run
from roster.models import Classroom
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    EnrolmentFactory,
    PostFactory,
    RestrictionFactory,
    ServingFactory,
    cooked,
    labelled,
)
from tests.web.pages import as_user, soup, words


@pytest.fixture
def checked(cast: Cast) -> Cast:
    """The cast, with today's menu checked."""
    check_site(site=cast.ferrowick, trigger="hand")
    return cast


def test_it_says_what_each_child_avoids_but_not_why(checked: Cast) -> None:
    """Food, strictness and first name; no basis, no diagnosis. Others are named for an emergency alone."""
    page = words(as_user(checked.rosa).get("/today/"))
    assert "Noor E. : gluten, traces too" in page
    assert "Yusuf E. : pork as an ingredient" in page
    assert "Bao" not in page.split("A suspected reaction of another child")[0]
    assert "7 of 8 children have something on record" in page
    assert not {"statement", "religious", "coeliac"} & set(page.split("Read the package")[0].lower().split())


def test_each_dish_says_whom_it_concerns(checked: Cast) -> None:
    """Outcome in words, then the children."""
    dishes = {
        row.select_one(".dish").text: " ".join(row.select_one(".concerned").get_text(" ").split())
        for row in soup(as_user(checked.rosa).get("/today/")).select(".rows > li:has(.dish)")
    }
    assert dishes["Peanut butter sandwich"] == "withhold Mateo E. (peanut) Noor E. (gluten)"
    assert dishes["Ham and rice"].startswith("withhold Saoirse E.")


def test_what_no_check_looks_for_stands_before_the_meals(cast: Cast) -> None:
    """A teacher who reads “none found” beside every dish has read it before."""
    told = "Food: level 5, cut small."
    RestrictionFactory(child=cast.bao, substance="", told=told, kind="dysphagia", basis="reported", statement=None)
    check_site(site=cast.ferrowick, trigger="hand")
    page = words(as_user(cast.rosa).get("/today/"))
    assert page.index(told) < page.index("Meals today") < page.index("What they avoid")
    assert page.count(told) == 1 and "what stands above under “No check looks after this”" in page


def test_a_child_stands_once_beside_a_dish_at_the_gravest(cast: Cast) -> None:
    """Kofi avoids egg, which is there, and sesame, which an unknown word may be: one line, with both."""
    mix = labelled("eggs, zanthopyl", name="Cake mix")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Cake", mix), date=timezone.localdate())
    check_site(site=cast.ferrowick, trigger="hand")
    page = soup(as_user(cast.rosa).get("/today/"))
    [cake] = [row for row in page.select(".rows > li:has(.dish)") if row.select_one(".dish").text == "Cake"]
    withheld, referred = (" ".join(each.get_text(" ").split()) for each in cake.select(".concerned"))
    assert withheld == "withhold Kofi E. (egg, sesame)"
    assert referred.startswith("refer") and "Kofi" not in referred


def test_a_dish_that_was_not_checked_is_not_shown_as_none_found(cast: Cast) -> None:
    """Silence is not absence: without a run the page says that nothing is known."""
    page = words(as_user(cast.rosa).get("/today/"))
    assert page.count("Not checked yet") == 3
    assert "none found" not in page.split("Read the package")[0]


def test_a_check_older_than_a_day_is_called_old(checked: Cast) -> None:
    """The caution names it (cautions, row 22)."""
    client = as_user(checked.rosa)
    assert "more than a day old" not in words(client.get("/today/"))
    Run.objects.update(as_of=timezone.now() - timedelta(hours=25))
    assert "more than a day old" in words(client.get("/today/"))


def test_another_class_is_not_found(checked: Cast) -> None:
    """Dmitri may not look into Larks, not even by its number."""
    assert as_user(checked.dmitri).get(f"/today/?class={checked.larks.pk}").status_code == 404
    assert as_user(checked.dmitri).get("/today/?class=nonsense").status_code == 404
    assert "Noor" not in words(as_user(checked.dmitri).get("/today/"))


def test_somebody_without_a_class_is_told_so(cast: Cast) -> None:
    """The page is not theirs."""
    assert as_user(cast.wren).get("/today/").status_code == 404


def test_a_teacher_of_two_classes_turns_between_them(checked: Cast) -> None:
    """The one chosen stays chosen."""
    wrens = ClassroomFactory(site=checked.ferrowick, name="Wrens")
    PostFactory(user=checked.rosa, classroom=wrens)
    client = as_user(checked.rosa)
    assert "Wrens today" in words(client.get(f"/today/?class={wrens.pk}"))
    assert "Wrens today" in words(client.get("/today/"))


@pytest.mark.parametrize("more", [1, 25])
def test_the_queries_do_not_grow_with_the_class(checked: Cast, more: int, django_assert_num_queries) -> None:
    """The same number for a class of nine and of thirty-three."""
    grow(checked.larks, more)
    check_site(site=checked.ferrowick, trigger="hand")
    client = as_user(checked.rosa)
    # session, user, posts; class; what the page is made from; children;
    # exceptions: posts, enrolments, verdicts of the dishes served, their runs, restrictions read, those in force;
    # closures; servings checked, servings; recipes, products, labels, words for notices by age; restrictions, textures;
    # newest run, what it was made from; announcements
    with django_assert_num_queries(QUERIES):
        client.get("/today/")


QUERIES = 24


def grow(classroom: Classroom, count: int) -> None:
    """Put that many more children who avoid milk into the class."""
    for _ in range(count):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=classroom)
        RestrictionFactory(child=child, substance="milk")


def test_several_dishes_and_one_question(cast: Cast) -> None:
    """Each dish says whom it is not for, and beneath it is said once that one answer is waited for."""
    RestrictionFactory(child=cast.bao, substance="mustard")
    for n in range(3):
        bowl = cooked(f"Bowl {n}", labelled("corn, natural flavor", name=f"Cereal {n}"))
        ServingFactory(site=cast.ferrowick, recipe=bowl, date=timezone.localdate())
    check_site(site=cast.ferrowick, trigger="hand")
    page = as_user(cast.rosa).get("/today/")
    dishes = [row for row in soup(page).select(".rows > li:has(.dish)") if "Bowl" in row.text]
    assert all("refer" in row.text and "Bao" in row.text for row in dishes) and len(dishes) == 3
    assert "Bao E. , 3 dishes: “natural flavor” and mustard" in words(page)


def test_one_dish_and_one_question_need_no_summary(cast: Cast) -> None:
    """The dish itself says it."""
    RestrictionFactory(child=cast.bao, substance="mustard")
    ServingFactory(site=cast.ferrowick, recipe=cooked("Bowl", labelled("corn, natural flavor")))
    check_site(site=cast.ferrowick, trigger="hand")
    assert "One question, several dishes" not in words(as_user(cast.rosa).get("/today/"))
