"""Exceptions by day, site, class, outcome, substance and reason; shown, and handed out as files."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Meal, Serving, Site
from roster.models import Action, Role, Verb
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
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def school(cast: Cast) -> Cast:
    """The cast, with both sites checked: eight exceptions today."""
    for site in Site.objects.all():
        check_site(site=site, trigger="hand")
    return cast


def rows(cast: Cast, **asked: str) -> list[str]:
    """The lines of the table that June sees."""
    page = soup(as_user(cast.june).get(reverse("exceptions"), asked))
    return [" ".join(row.get_text(" ").split()) for row in page.select("tbody tr")]


def test_a_line_says_who_what_when_and_why(school: Cast) -> None:
    """Day, meal, dish, child, class, what is avoided, the outcome in words, and the reason with the words."""
    (line,) = rows(school, substance="peanut")
    for part in ("lunch", "Peanut butter sandwich", "Mateo Example", "Larks", "Peanut", "withhold", "peanuts"):
        assert part in line


def test_the_head_counts_exceptions_and_children(school: Cast) -> None:
    """Eight exceptions of seven children: Noor meets gluten twice."""
    shown = words(as_user(school.june).get(reverse("exceptions")))
    assert "withhold 8" in shown
    assert "8 exceptions, 7 children" in shown


@pytest.mark.parametrize(
    ("asked", "children"),
    [
        ({"site": "tansy-gate"}, {"Ravi"}),
        ({"substance": "gluten"}, {"Noor"}),
        ({"substance": "pork"}, {"Yusuf"}),
        ({"rule": "R03"}, {"Anneke", "Ifeoma"}),
        ({"rule": "R01", "site": "tansy-gate"}, {"Ravi"}),
        ({"outcome": "refer"}, set()),
        ({"outcome": "withhold", "substance": "milk"}, {"Anneke", "Ravi"}),
    ],
)
def test_every_filter_narrows(school: Cast, asked: dict[str, str], children: set[str]) -> None:
    """What is asked for, and nothing else."""
    named = ("Noor", "Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi", "Bao", "Ravi", "Petra")
    found = rows(school, **asked)
    assert {name for name in named if any(f"{name} Example" in line for line in found)} == children


def test_a_class_narrows(school: Cast) -> None:
    """One class of one site."""
    assert len(rows(school, classroom=str(school.larks.pk))) == 7


def test_days_narrow(school: Cast) -> None:
    """Both ends are included; yesterday holds nothing."""
    today = timezone.localdate()
    assert len(rows(school, first=today.isoformat(), last=today.isoformat())) == 8
    past = (today - timedelta(days=1)).isoformat()
    assert rows(school, first=past, last=past) == []


def test_nothing_found_is_said_in_the_fitting_words(school: Cast) -> None:
    """Not that all is well."""
    shown = words(as_user(school.june).get(reverse("exceptions"), {"outcome": "refer"}))
    assert "No exception found in the records checked" in shown


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"first": "2026-03-02", "last": "2026-03-01"}, "The days run backwards"),
        ({"first": "2020-01-01", "last": "2026-03-01"}, "more than a year"),
        ({"first": "soon"}, "This is no date"),
        ({"outcome": "fine"}, "not one of the available choices"),
        ({"site": "elsewhere"}, "not one of the available choices"),
    ],
)
def test_a_filter_that_makes_no_sense_is_refused(school: Cast, asked: dict[str, str], told: str) -> None:
    """With what is wrong, on the page and for the file alike; never all the rows instead."""
    june = as_user(school.june)
    page = june.get(reverse("exceptions"), asked)
    assert told in words(page)
    assert not soup(page).select("tbody tr")
    refused = june.get(reverse("exceptions-export", args=["csv"]), asked)
    assert refused.status_code == 400
    assert told in words(refused)


def test_what_was_not_checked_is_counted_out_loud(school: Cast) -> None:
    """A dish that no run has read is no dish without exceptions."""
    ServingFactory(site=school.ferrowick, recipe=cooked("Late soup", school.larder.yogurt))
    shown = words(as_user(school.june).get(reverse("exceptions")))
    assert "1 dish on the plan of Ferrowick Elementary School not checked yet" in shown


def test_a_check_that_failed_since_is_told_until_one_succeeds(school: Cast) -> None:
    """What stands knows nothing of what was recorded in between."""
    site, now = school.ferrowick, timezone.now()
    today = timezone.localdate()
    days = {"site": site, "first_day": today, "last_day": today}
    Run.objects.create(**days, trigger="change", state=Run.State.FAILED, as_of=now)
    told, june = "failed. What was recorded in between", as_user(school.june)
    assert told in words(june.get(reverse("exceptions")))
    check_site(site=site, trigger=Run.Trigger.HAND)
    assert told not in words(june.get(reverse("exceptions")))


def test_days_on_which_nothing_is_planned_are_no_days_without_exceptions(school: Cast) -> None:
    """Nothing was checked there: silence is not absence."""
    told = "Nothing is on the plan of Ferrowick Elementary School on these days , so nothing was checked."
    june = as_user(school.june)
    none_found = "No exception found in the records checked."
    quiet = words(june.get(reverse("exceptions"), {"substance": "kiwi"}))
    assert told not in quiet and none_found in quiet
    Serving.objects.filter(site=school.ferrowick).update(withdrawn_at=timezone.now())
    Serving.objects.filter(site=school.tansy_gate).update(withdrawn_at=timezone.now())
    empty = words(june.get(reverse("exceptions")))
    assert told in empty and none_found not in empty


def test_a_site_never_checked_is_named(cast: Cast) -> None:
    """Each of them."""
    shown = words(as_user(cast.june).get(reverse("exceptions")))
    assert "Ferrowick Elementary School was never checked" in shown
    assert "Tansy Gate Daycare was never checked" in shown


def test_filtering_without_a_reload_gives_the_same_list(school: Cast) -> None:
    """The fragment is the part of the page."""
    june = as_user(school.june)
    asked = {"substance": "gluten"}
    whole = soup(june.get(reverse("exceptions"), asked)).find(id="found")
    part = soup(june.get(reverse("exceptions"), asked, headers={"HX-Request": "true"})).find(id="found")
    assert whole == part


def test_an_administrator_of_one_site_sees_no_other(school: Cast) -> None:
    """Neither on the page nor in the file nor in what can be chosen."""
    user = PostFactory(user__first_name="Ada", role=Role.ADMINISTRATOR, site=school.tansy_gate, classroom=None).user
    ada = as_user(user)
    page = ada.get(reverse("exceptions"))
    assert "Ravi Example" in words(page)
    assert "Noor Example" not in words(page)
    assert "Ferrowick" not in words(page)
    assert "Larks" not in words(page)
    assert "Noor" not in ada.get(reverse("exceptions-export", args=["csv"])).content.decode("utf-8-sig")
    assert "not one of the available choices" in words(ada.get(reverse("exceptions"), {"site": "ferrowick"}))


def test_others_have_no_such_page(school: Cast) -> None:
    """Teachers, kitchens and strangers: 404 for page and file."""
    for person in (school.rosa, school.greta, school.wren):
        assert as_user(person).get(reverse("exceptions")).status_code == 404
        assert as_user(person).get(reverse("exceptions-export", args=["csv"])).status_code == 404


def test_long_lists_are_cut_into_pages_that_keep_the_filter(school: Cast) -> None:
    """Fifty a page."""
    crowd(school, 60)
    check_site(site=school.ferrowick, trigger="hand")
    page = soup(as_user(school.june).get(reverse("exceptions"), {"substance": "milk"}))
    assert len(page.select("tbody tr")) == 50
    onward = page.find("a", string="Next")["href"]
    assert "substance=milk" in onward
    rest = soup(as_user(school.june).get(reverse("exceptions") + onward))
    assert len(rest.select("tbody tr")) == 12


def test_the_csv_file_holds_what_the_page_shows(school: Cast) -> None:
    """Same filter, same rows; the name of the file names no child."""
    response = as_user(school.june).get(reverse("exceptions-export", args=["csv"]), {"substance": "gluten"})
    assert {each.actor for each in Action.objects.filter(verb=Verb.EXPORTED)} == {school.june}
    assert "attachment" in response.headers["Content-Disposition"]
    assert "Noor" not in response.headers["Content-Disposition"]
    lines = list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))
    start = next(n for n, line in enumerate(lines) if line[0] == "Date")
    head, table = lines[:start], lines[start + 1 :]
    assert len(table) == 2
    assert all("Noor Example" in line for line in table)
    assert all(line[0] == timezone.localdate().isoformat() for line in table)
    assert any("June" in cell for line in head for cell in line)


def test_the_workbook_holds_what_the_page_shows(school: Cast) -> None:
    """As many rows as the page counts."""
    response = as_user(school.june).get(reverse("exceptions-export", args=["xlsx"]))
    sheet = load_workbook(io.BytesIO(response.content)).worksheets[0]
    children = [cell.value for row in sheet.iter_rows() for cell in row if str(cell.value).endswith(" Example")]
    assert len(children) == 8


def test_no_other_kind_of_file_is_offered(school: Cast) -> None:
    """An address made up is not there."""
    assert as_user(school.june).get(reverse("exceptions-export", args=["exe"])).status_code == 404


def crowd(cast: Cast, children: int) -> None:
    room = ClassroomFactory(site=cast.ferrowick)
    for _ in range(children):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=room)
        RestrictionFactory(child=child, substance="milk")


def test_queries_do_not_grow_with_exceptions(school: Cast) -> None:
    """Eight exceptions or two hundred, page and file cost the same."""
    june = as_user(school.june)
    pages = [reverse("exceptions"), reverse("exceptions-export", args=["csv"])]
    small = [queries(lambda page=page: june.get(page)) for page in pages]
    crowd(school, 40)
    for n in range(4):
        porridge = cooked(f"Porridge {n}", labelled("oats, milk"))
        ServingFactory(site=school.ferrowick, recipe=porridge, meal=Meal.BREAKFAST)
    check_site(site=school.ferrowick, trigger="hand")
    large = [queries(lambda page=page: june.get(page)) for page in pages]
    # session, user, all-sites post?, sites; classrooms: all-sites post?; substances to choose from; exceptions:
    # all-sites post?, enrolments, served dishes, runs of their days, restrictions read, restrictions in force,
    # evidence; coverage: runs, unchecked servings, failed checks; roles for the menu; sites and classes to choose from
    # the file: the same without the last three, what people see to, levels of texture, the runs that stand behind the
    # rows, and an entry in the record of actions of either site: the end of the chain held, the entry, the end moved,
    # in a transaction
    assert large == small
    assert small == [19, 26]


@pytest.fixture
def flavoured(cast: Cast) -> Cast:
    """Dara must avoid mustard, and natural flavour stands on a product of each of the next four days."""
    dara = ChildFactory(given_name="Dara")
    EnrolmentFactory(child=dara, classroom=cast.larks)
    RestrictionFactory(child=dara, substance="mustard")
    for day in range(4):
        bowl = cooked(f"Bowl {day}", labelled("corn, natural flavor", name=f"Cereal {day}"))
        ServingFactory(site=cast.ferrowick, recipe=bowl, date=timezone.localdate() + timedelta(days=day))
    check_site(site=cast.ferrowick, trigger="hand")
    return cast


def test_dishes_that_wait_for_one_answer_stand_in_one_line(flavoured: Cast) -> None:
    """One line that names the question and every dish, each with its link; counted as four exceptions all the same."""
    page = as_user(flavoured.june).get(reverse("exceptions"), {"substance": "mustard"})
    (line,) = soup(page).select("tbody tr")
    shown = " ".join(line.get_text(" ").split())
    assert "4 dishes" in shown
    assert "Waits for an answer: “natural flavor” and mustard. Do not serve any of them." in shown
    assert [link.get_text() for link in line.select("td a")] == ["Bowl 0", "Bowl 1", "Bowl 2", "Bowl 3"]
    assert "refer 4" in words(page)
    assert "4 exceptions, 1 child" in words(page)


def test_what_is_withheld_stands_by_itself(flavoured: Cast) -> None:
    """No answer would settle it."""
    assert all("Waits for" not in row for row in rows(flavoured, outcome="withhold"))


def test_the_file_keeps_a_row_for_every_dish(flavoured: Cast) -> None:
    """With what it waits for in a column, so that a table can be grouped by it."""
    response = as_user(flavoured.june).get(reverse("exceptions-export", args=["csv"]), {"substance": "mustard"})
    lines = list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))
    start = next(n for n, line in enumerate(lines) if line[0] == "Date")
    column = lines[start].index("Waits for")
    assert [line[column] for line in lines[start + 1 :]] == ["“natural flavor” and mustard"] * 4


def test_a_second_post_widens_neither_page_nor_file(school: Cast) -> None:
    """Ada administers one site and teaches at another: what she may read there is not hers to take along."""
    ada = PostFactory(role=Role.ADMINISTRATOR, site=school.tansy_gate, classroom=None).user
    PostFactory(user=ada, role=Role.TEACHER, classroom=school.larks)
    client = as_user(ada)
    assert "Ravi Example" in words(client.get(reverse("exceptions")))
    for page in (reverse("exceptions"), reverse("exceptions-export", args=["csv"])):
        assert "Noor" not in client.get(page).content.decode()


def test_every_site_of_a_file_has_it_on_record(school: Cast) -> None:
    """Whoever reads the record of one site finds what was taken along from there."""
    as_user(school.june).get(reverse("exceptions-export", args=["csv"]))
    assert {each.site for each in Action.objects.filter(verb=Verb.EXPORTED)} == {school.ferrowick, school.tansy_gate}


def test_who_may_not_hand_out_files_is_offered_none(school: Cast) -> None:
    """The kitchen manager reads the list; the administrator may export it too."""
    assert "Export as CSV" in words(as_user(school.june).get(reverse("exceptions")))
    shown = words(as_user(school.tomas).get(reverse("exceptions")))
    assert "Export" not in shown and "withhold" in shown
