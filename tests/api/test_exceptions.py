"""Exceptions by the API: who meets what, under each filter, and only the children that one may see."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.run import check_site
from tests.api.conftest import Asker
from tests.cast import Cast
from tests.factories import ChildFactory, EnrolmentFactory, RestrictionFactory, ServingFactory, cooked, labelled

MET = {
    ("Noor", "Peanut butter sandwich"),
    ("Mateo", "Peanut butter sandwich"),
    ("Noor", "Oat bar"),
    ("Anneke", "Oat bar"),
    ("Ifeoma", "Oat bar"),
    ("Yusuf", "Ham and rice"),
    ("Saoirse", "Ham and rice"),
    ("Ravi", "Yogurt cup"),
}
"""The table in tests/cast.py."""


def today(**more: Any) -> dict[str, Any]:
    """The question about today."""
    day = timezone.localdate().isoformat()
    return {"first": day, "last": day, **more}


def met(answer: Any) -> set[tuple[str, str]]:
    """First name and dish of every row."""
    return {(row["child"]["name"].split()[0], row["dish"]) for row in answer.json()["results"]}


def test_all_and_only_the_exceptions_of_the_cast(checked: Cast) -> None:
    """The nurse of all sites sees every row of the table, and nothing of Kofi, Bao and Petra."""
    assert met(Asker(checked.hakim).get("exceptions/", **today())) == MET


def test_each_row_shows_its_chain_down_to_the_words(checked: Cast) -> None:
    """Dish, product, label and the words are there, with the source of the reading."""
    [row] = Asker(checked.hakim).get("exceptions/", **today(substance="peanut")).json()["results"]
    reason = row["reasons"][0]
    assert {link["kind"] for link in reason["chain"]} >= {"recipe", "product", "label"}
    assert "peanut" in reason["words"].lower() and reason["source"] and reason["span"]
    assert row["outcome"] == "withhold" and row["strictness"] == "trace" and "basis" not in row


def test_dishes_that_wait_for_one_answer_say_the_same(checked: Cast) -> None:
    """A row each, with the word as it was read, so that whoever shows them can put them together."""
    RestrictionFactory(child=checked.bao, substance="mustard")
    for name, words in (("Bowl", "corn, Natural Flavors"), ("Bar", "oats, natural flavour")):
        ServingFactory(site=checked.ferrowick, recipe=cooked(name, labelled(words)))
    check_site(site=checked.ferrowick, trigger="hand")
    rows = Asker(checked.hakim).get("exceptions/", **today(substance="mustard")).json()["results"]
    assert [row["waits_for"] for row in rows] == [["may-derive:mustard:natural flavor"]] * 2
    assert {reason["term"] for row in rows for reason in row["reasons"]} == {"natural flavor"}
    [withheld] = Asker(checked.hakim).get("exceptions/", **today(substance="peanut")).json()["results"]
    assert withheld["waits_for"] == []


def test_filters_narrow(checked: Cast) -> None:
    """Site, class, outcome, substance and rule each leave what fits, and nothing else."""
    asker = Asker(checked.hakim)
    assert met(asker.get("exceptions/", **today(site="tansy-gate"))) == {("Ravi", "Yogurt cup")}
    assert met(asker.get("exceptions/", **today(classroom=checked.minnows.pk))) == {("Ravi", "Yogurt cup")}
    assert met(asker.get("exceptions/", **today(substance="pork"))) == {("Yusuf", "Ham and rice")}
    every = asker.get("exceptions/", **today()).json()["results"]
    for outcome in {row["outcome"] for row in every}:
        found = asker.get("exceptions/", **today(outcome=outcome)).json()["results"]
        assert found == [row for row in every if row["outcome"] == outcome]
    for rule in {reason["rule"] for row in every for reason in row["reasons"]}:
        found = asker.get("exceptions/", **today(rule=rule)).json()["results"]
        assert found == [row for row in every if rule in {reason["rule"] for reason in row["reasons"]}]


def test_only_the_children_that_one_may_see(checked: Cast) -> None:
    """A teacher sees the own class, a cook the own site."""
    minnows = {("Ravi", "Yogurt cup")}
    assert met(Asker(checked.rosa).get("exceptions/", **today())) == MET - minnows
    assert met(Asker(checked.dmitri).get("exceptions/", **today())) == minnows
    assert met(Asker(checked.greta).get("exceptions/", **today())) == MET - minnows
    assert met(Asker(checked.pavel).get("exceptions/", **today())) == minnows


def test_an_empty_list_says_how_far_anybody_has_looked(cast: Cast) -> None:
    """Before the first run the list is empty, and the answer says that no serving was read."""
    answer = Asker(cast.june).get("exceptions/", **today()).json()
    assert answer["results"] == []
    assert {each["site"]: (each["run"], each["unchecked"]) for each in answer["coverage"]} == {
        "ferrowick": (None, 3),
        "tansy-gate": (None, 1),
    }


def test_pages_hold_every_row_once(checked: Cast) -> None:
    """Following `next` from page to page gives the whole list in order."""
    asker = Asker(checked.hakim)
    whole = asker.get("exceptions/", **today()).json()["results"]
    part = asker.get("exceptions/", **today(limit=3)).json()
    rows = part["results"]
    while part["next"]:
        part = asker.client.get(part["next"]).json()
        rows += part["results"]
    assert rows == whole and part["count"] == len(whole) and part["previous"]


BAD = [
    ({"substance": "peanuts"}, "substance", "substance"),
    ({"outcome": "none-found"}, "outcome", "invalid_choice"),
    ({"rule": "r999"}, "rule", "invalid_choice"),
    ({"classroom": "x"}, "classroom", "incorrect_type"),
    ({"classroom": "9" * 30}, "classroom", "does_not_exist"),
    ({"first": ""}, "first", "invalid"),
    ({"substanse": "milk"}, "substanse", "unknown"),
]


@pytest.mark.parametrize(("change", "field", "code"), BAD)
def test_a_bad_question_is_refused(cast: Cast, change: dict[str, Any], field: str, code: str) -> None:
    """No part of a question is passed over: a filter that means nothing must not hide exceptions."""
    answer = Asker(cast.june).get("exceptions/", **today(**change))
    assert answer.status_code == 400
    assert [(error["field"], error["code"]) for error in answer.json()["errors"]] == [(field, code)]


@pytest.mark.parametrize("children", [0, 12])
def test_the_list_costs_the_same_at_any_size(cast: Cast, django_assert_num_queries: Any, children: int) -> None:
    """The number of queries does not grow with the exceptions."""
    for _ in range(children):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child, substance="peanut")
    for site in (cast.ferrowick, cast.tansy_gate):
        check_site(site=site, trigger="hand")
    asker = Asker(cast.hakim)
    # The session; the person; the roles; exceptions: whether a post reaches all sites, enrolments, served dishes, the
    # runs of their days, restrictions read, restrictions in force, evidence; coverage: the reach of posts again, the
    # sites, the runs, the servings that no run has read; what people see to, levels of texture.
    with django_assert_num_queries(17):
        answer = asker.get("exceptions/", **today())
    assert answer.json()["count"] == 8 + children
