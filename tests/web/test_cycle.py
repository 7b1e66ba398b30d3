"""The cycle menu as a calendar, the cycle checked, and the reasons behind one dish."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from bs4 import Tag
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import CycleMenu, Meal, Serving, Weekday
from menus.services.exchange import exchange_dish
from menus.services.servings import plan_servings
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    EnrolmentFactory,
    RestrictionFactory,
    ServingFactory,
    cooked,
    labelled,
)
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db


def checked(cast: Cast) -> Run:
    return check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)


def plain(tree: Tag) -> str:
    return " ".join(tree.get_text(" ").split())


def dish(tree: Tag, name: str) -> str:
    """What the grid says of one dish."""
    return plain(tree.find("a", string=name).find_parent("li"))


def next_week(cast: Cast) -> tuple[date, str]:
    """A Monday in a cycle of the school, and the name of the dish that the cycle calls for on it."""
    soup_of_the_day = cooked("Squash soup", cast.larder.rice)
    cycle = CycleMenuFactory(site=cast.ferrowick, weeks=1)
    CycleEntryFactory(cycle=cycle, recipe=soup_of_the_day, weekday=Weekday.MONDAY)
    return cycle.starts_on + timedelta(weeks=1), soup_of_the_day.name


def test_the_calendar_shows_what_is_on_the_plan_and_what_the_cycle_calls_for(cast: Cast) -> None:
    """A dish of the cycle shows before any run has put it on the plan, and says so."""
    _, name = next_week(cast)
    shown = words(as_user(cast.greta).get(reverse("cycle")))
    assert "Peanut butter sandwich" in shown
    assert f"{name} not yet on the plan" in shown


def test_dishes_of_one_choice_stand_together_and_say_so(cast: Cast) -> None:
    """Sandwich, oat bar, ham: the sandwich or the ham. On the plan and on the cycle alike."""
    for serving in (cast.servings[0], cast.servings[2]):
        Serving.objects.filter(pk=serving.pk).update(choice="Main dish")
    _, name = next_week(cast)
    CycleMenu.objects.get().entries.update(choice="soup")
    page = as_user(cast.greta).get(reverse("cycle"))
    names = [link.string for link in soup(page).select(".dishes a")]
    assert names.index("Ham and rice") == names.index("Peanut butter sandwich") + 1
    assert "choice of Main dish" in dish(soup(page), "Ham and rice") and "choice of" not in dish(soup(page), "Oat bar")
    assert f"{name} choice of soup not yet on the plan" in words(page)


def test_a_dish_taken_over_says_what_the_cycle_calls_for(cast: Cast) -> None:
    """And the cycle's dish is not called missing beside it."""
    day, name = next_week(cast)
    plan_servings(site=cast.ferrowick, first=day, last=day)
    [serving] = Serving.objects.planned().filter(date=day)
    exchange_dish(serving=serving, recipe=cast.dishes.oat_bar, today=timezone.localdate())
    shown = words(as_user(cast.greta).get(reverse("cycle"), {"from": day.isoformat()}))
    assert f"Oat bar in place of {name}" in shown
    new = Serving.objects.get(in_place_of=serving)
    assert f"On the plan in place of {name}." in words(as_user(cast.greta).get(reverse("serving", args=[new.pk])))


def test_a_withdrawn_dish_leaves_the_calendar(cast: Cast) -> None:
    """What was taken off the plan is not cooked."""
    Serving.objects.filter(pk=cast.servings[0].pk).update(withdrawn_at=timezone.now())
    shown = words(as_user(cast.greta).get(reverse("cycle")))
    assert "Peanut butter sandwich" not in shown
    assert "Oat bar" in shown


@pytest.mark.parametrize("page", ["cycle", "cycle-check"])
def test_a_kitchen_sees_its_own_site_only(cast: Cast, page: str) -> None:
    """Another site's menu is not there for it; nor is any for a teacher or for somebody without a post."""
    assert "Yogurt cup" not in words(as_user(cast.greta).get(reverse(page)))
    assert as_user(cast.greta).get(reverse(page), {"site": "tansy-gate"}).status_code == 404
    assert as_user(cast.rosa).get(reverse(page)).status_code == 404
    assert as_user(cast.wren).get(reverse(page)).status_code == 404


def test_somebody_of_several_sites_turns_from_one_to_another(cast: Cast) -> None:
    """The nurse picks the site, and the pages that follow stay with it."""
    nurse = as_user(cast.hakim)
    assert "Yogurt cup" in words(nurse.get(reverse("cycle-check"), {"site": "tansy-gate"}))
    assert "Yogurt cup" in words(nurse.get(reverse("cycle")))


def test_each_dish_says_how_many_children_at_which_outcome(cast: Cast) -> None:
    """In words: Mateo and Noor cannot have the peanut sandwich, Saoirse and Yusuf not the ham."""
    checked(cast)
    grid = soup(as_user(cast.greta).get(reverse("cycle-check")))
    assert dish(grid, "Peanut butter sandwich").endswith("withhold 2")
    assert dish(grid, "Ham and rice").endswith("withhold 2")


def test_a_dish_that_concerns_nobody_says_none_found(cast: Cast) -> None:
    """It is not left blank, which could mean anything."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Plain rice", cast.larder.rice))
    checked(cast)
    assert dish(soup(as_user(cast.greta).get(reverse("cycle-check"))), "Plain rice").endswith("none found")


def test_a_child_who_avoids_two_things_in_a_dish_counts_once(cast: Cast) -> None:
    """The kitchen plates for children, not for restrictions."""
    RestrictionFactory(child=cast.mateo, substance="wheat")
    checked(cast)
    assert dish(soup(as_user(cast.greta).get(reverse("cycle-check"))), "Peanut butter sandwich").endswith("withhold 2")


def test_an_unknown_label_counts_as_refer(cast: Cast) -> None:
    """A product nobody has a label of puts the dish before licensed staff, for every child with a restriction."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Stew", labelled("", name="Stock", label={"claims": "tasty"})))
    checked(cast)
    assert "refer 7" in dish(soup(as_user(cast.greta).get(reverse("cycle-check"))), "Stew")


def test_a_dish_that_came_after_the_check_says_so(cast: Cast) -> None:
    """Not yet checked is not the same as nothing found."""
    checked(cast)
    ServingFactory(site=cast.ferrowick, recipe=cooked("Late soup", cast.larder.yogurt))
    page = as_user(cast.greta).get(reverse("cycle-check"), {"found": "1"})
    assert dish(soup(page), "Late soup").endswith("not checked yet")
    assert "1 not checked yet" in words(page)


def test_a_site_that_was_never_checked_says_so(cast: Cast) -> None:
    """No run, no counts, and no time that the page could speak of."""
    shown = words(as_user(cast.greta).get(reverse("cycle-check")))
    assert "was never checked" in shown
    assert "As of" not in shown


def test_a_check_from_the_day_before_yesterday_is_called_old(cast: Cast) -> None:
    """After 24 hours the page says in words that it may be behind."""
    run = checked(cast)
    assert "more than 24 hours old" not in words(as_user(cast.greta).get(reverse("cycle-check")))
    Run.objects.filter(pk=run.pk).update(as_of=run.as_of - timedelta(hours=25))
    assert "more than 24 hours old" in words(as_user(cast.greta).get(reverse("cycle-check")))


def test_only_what_is_withheld_or_referred(cast: Cast) -> None:
    """The short list leaves out dishes for which nothing was found."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Plain rice", cast.larder.rice))
    checked(cast)
    shown = words(as_user(cast.greta).get(reverse("cycle-check"), {"found": "1"}))
    assert "Plain rice" not in shown
    assert "Oat bar" in shown


def test_the_kitchen_checks_again_by_hand(cast: Cast) -> None:
    """One button, one run, and back on the grid."""
    page = as_user(cast.greta).post(f"{reverse('cycle-recheck')}?site=ferrowick", follow=True)
    assert "Checked 3 dishes" in words(page)
    assert Run.objects.get(site=cast.ferrowick).state == Run.State.COMPLETE


def test_a_check_already_under_way_is_not_started_twice(cast: Cast) -> None:
    """The second one hears that the first is running."""
    now = timezone.now()
    Run.objects.create(site=cast.ferrowick, trigger="night", as_of=now, first_day=now.date(), last_day=now.date())
    page = as_user(cast.greta).post(f"{reverse('cycle-recheck')}?site=ferrowick", follow=True)
    assert "is being checked at this moment" in words(page)
    assert Run.objects.count() == 1


def test_a_mistyped_day_shows_the_present(cast: Cast) -> None:
    """An address is no place for an error."""
    for day in ("yesterday", "2026-02-31", "", "0001-01-01", "9999-12-31"):
        assert "Oat bar" in words(as_user(cast.greta).get(reverse("cycle"), {"from": day}))


def test_the_reasons_name_the_children_and_show_the_words_in_place(cast: Cast) -> None:
    """Whoever plates sees for whom, and the very words of the label, marked where they stand."""
    checked(cast)
    page = soup(as_user(cast.greta).get(reverse("serving", args=[cast.servings[1].pk])))
    shown = plain(page.main)
    assert "Anneke Example , Larks" in shown
    assert "Bao" not in shown
    marked = [mark.get_text() for mark in page.select(".label-text mark.mark-withhold")]
    assert marked == ["rolled oats", "milk", "tree nuts"]
    assert "may contain milk and tree nuts" in shown.lower()


def test_whoever_plates_has_each_child_once_by_class(cast: Cast) -> None:
    """Before the reasons stands the list that plating goes by: Kofi avoids egg and sesame, and is named once."""
    serving = ServingFactory(site=cast.ferrowick, recipe=cooked("Cake", labelled("eggs, zanthopyl", name="Cake mix")))
    checked(cast)
    plates = soup(as_user(cast.greta).get(reverse("serving", args=[serving.pk]))).select_one(".plates")
    shown = plain(plates)
    assert shown.startswith("Larks withhold Kofi Example")
    assert shown.count("Kofi") == 1 and "refer" in shown.partition("Kofi")[2]


def test_the_chain_leads_from_the_dish_to_the_source(cast: Cast) -> None:
    """Dish, product, label version and words, then the rule."""
    checked(cast)
    shown = words(as_user(cast.greta).get(reverse("serving", args=[cast.servings[0].pk])))
    assert "recipe Peanut butter sandwich › product Peanut butter › label Peanut butter (label of" in shown
    assert "rule R01" in shown


def test_a_serving_with_nothing_found_says_what_was_looked_at(cast: Cast) -> None:
    """It says what was checked and promises nothing."""
    serving = ServingFactory(site=cast.ferrowick, recipe=cooked("Plain rice", cast.larder.rice))
    checked(cast)
    shown = words(as_user(cast.greta).get(reverse("serving", args=[serving.pk])))
    assert "No conflict found in the records checked" in shown
    assert "version 1 of the recipe" in shown


def test_a_serving_that_was_not_checked_says_so(cast: Cast) -> None:
    """And offers the check."""
    page = soup(as_user(cast.greta).get(reverse("serving", args=[cast.servings[0].pk])))
    assert "Not checked yet" in plain(page.main)
    assert page.select_one(f'form[action^="{reverse("cycle-recheck")}"] button')


def test_another_sites_serving_is_not_there(cast: Cast) -> None:
    """Neither for its kitchen, nor for a teacher of the site itself: the page names children."""
    address = reverse("serving", args=[cast.servings[0].pk])
    assert as_user(cast.pavel).get(address).status_code == 404
    assert as_user(cast.rosa).get(address).status_code == 404
    assert as_user(cast.hakim).get(address).status_code == 200


def test_a_later_run_that_found_the_same_renews_the_time(cast: Cast) -> None:
    """The page speaks of the last moment at which the reasons were found to stand."""
    first = checked(cast)
    later = check_site(site=cast.ferrowick, trigger="night", as_of=timezone.now())
    assert later.same_as_id == first.pk
    page = as_user(cast.greta).get(reverse("serving", args=[cast.servings[0].pk]))
    assert page.context["as_of"] == later.as_of


def crowd(cast: Cast, children: int) -> None:
    for _ in range(children):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child, substance="milk")


def test_queries_do_not_grow_with_children_and_dishes(cast: Cast) -> None:
    """The grid and the reasons cost the same for seven children as for forty."""
    greta = as_user(cast.greta)
    pages = (reverse("cycle"), reverse("cycle-check"), reverse("serving", args=[cast.servings[1].pk]))
    checked(cast)
    small = [queries(lambda page=page: greta.get(page)) for page in pages]

    crowd(cast, 33)
    for n in range(12):
        ServingFactory(site=cast.ferrowick, recipe=cooked(f"Dish {n}", cast.larder.yogurt), meal=Meal.SNACK)
    checked(cast)
    large = [queries(lambda page=page: greta.get(page)) for page in pages]

    assert large == small
    # session, user, all-sites post?, sites; servings, days without meals, cycles that call for dishes; roles for the
    # menu, cycles shown
    # (a cycle with entries costs two more, whatever their number: the entries, the names of dishes not on the plan)
    assert small[0] == 9
    # session, user, all-sites post?, sites; servings, those checked; exceptions: all-sites post?, enrolments, served
    # dishes, runs of their days, restrictions read, restrictions in force; newest run; days without meals; roles for
    # the menu
    assert small[1] == 15
    # session, user, posts, sites, serving; what it rests on, now and as checked; its served dish and the run that
    # speaks for its day; exceptions as above, and the evidence; what people see to; labels; birth dates (children young
    # enough for a notice cost three more: recipe lines, products, labels); levels of texture; roles for the menu
    assert small[2] == 25  # four of them for notices by age, which reach six-year-olds
