"""Treat checks by the API: the answer is right, whole and kept; bad input is refused and leaves nothing behind."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient

from compliance.models import Referral, TreatCheck
from menus.labels.label import LONGEST_LABEL
from menus.models import Label, Product
from tests.api.conftest import ROOT, Asker
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    EnrolmentFactory,
    ProductFactory,
    RestrictionFactory,
    gtin,
    labelled,
)

PEANUT_COOKIE = "Ingredients: wheat flour, sugar, peanut butter (roasted peanuts, salt). Contains: wheat, peanut."
RICE_CAKE = "Ingredients: whole grain brown rice, water."


def who(rows: list[dict[str, Any]]) -> set[str]:
    """First names of the children in the rows."""
    return {row["child"]["name"].split()[0] for row in rows}


def rows_kept() -> tuple[int, int, int, int]:
    """How many rows a treat check may write to."""
    return TreatCheck.objects.count(), Label.objects.count(), Product.objects.count(), Referral.objects.count()


def test_pasted_label_withholds_with_the_words_in_place(cast: Cast) -> None:
    """Peanut and wheat on the label: Mateo (peanut) and Noor (gluten) are named, with the words where they stand."""
    answer = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, text=PEANUT_COOKIE, name="Cookies")
    body = answer.json()
    assert answer.status_code == 201 and who(body["withhold"]) == {"Mateo", "Noor"}
    assert answer.headers["Location"] == body["address"]
    reason = next(row for row in body["withhold"] if row["substance"]["code"] == "peanut")["reasons"][0]
    span, label = reason["span"], body["label"]
    assert label[span["part"]][span["start"] : span["end"]] == reason["words"]
    assert "peanut" in reason["words"].lower() and reason["source"]
    assert body["children"] == 8 and body["stopped"] == len(who(body["withhold"] + body["refer"]))


def test_answer_is_kept_as_given(cast: Cast) -> None:
    """The address in the answer gives the same answer again, and it is the one that stands in the list."""
    asker = Asker(cast.rosa)
    made = asker.post("treat-checks/", classroom=cast.larks.pk, text=PEANUT_COOKIE).json()
    assert asker.get(f"treat-checks/{made['id']}/").json() == made
    [listed] = asker.get("treat-checks/").json()["results"]
    assert listed == {key: made[key] for key in listed}
    assert TreatCheck.objects.get().checked_by == cast.rosa


def test_plain_rice_meets_nobody(cast: Cast) -> None:
    """A label that names rice and water stops nobody, and the answer says what that does not promise."""
    body = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, text=RICE_CAKE).json()
    assert body["withhold"] == body["refer"] == [] and body["none_found"] == body["children"] == 8
    assert any("no promise" in caution for caution in body["cautions"])


def test_no_label_refers_everybody_with_a_restriction(cast: Cast) -> None:
    """Nothing is known of a food without a label: seven children are referred, and Bao, the control, is not."""
    body = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, no_label=True, name="Cupcakes").json()
    assert body["withhold"] == [] and len(who(body["refer"])) == 7 and "Bao" not in who(body["refer"])
    assert body["label"] is None and body["none_found"] == 1
    assert set(Referral.objects.values_list("food", flat=True)) == {"Cupcakes"}


def test_gtin_finds_the_label_on_record(cast: Cast) -> None:
    """A number under the bars, typed with spaces, is checked against the newest label of its product."""
    labelled("roasted peanuts", name="Peanut brittle", gtin=gtin(7))
    typed = f"{gtin(7)[:7]} {gtin(7)[7:]}"
    body = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, gtin=typed).json()
    assert body["source"] == "gtin" and body["food"] == "Peanut brittle" and "Mateo" in who(body["withhold"])


def test_text_with_an_unknown_gtin_is_found_by_it_next_time(cast: Cast) -> None:
    """The second person with the same package need not type its label again."""
    asker = Asker(cast.rosa)
    asker.post("treat-checks/", classroom=cast.larks.pk, gtin=gtin(8), text=PEANUT_COOKIE)
    again = asker.post("treat-checks/", classroom=cast.larks.pk, gtin=gtin(8))
    assert again.status_code == 201 and "Mateo" in who(again.json()["withhold"])


def test_product_of_another_site_is_not_found(cast: Cast) -> None:
    """A treat that turned up at one site is no product of the other."""
    elsewhere = labelled("rice", site=cast.tansy_gate)
    answer = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, product=elsewhere.pk)
    assert answer.status_code == 400 and answer.json()["errors"][0]["field"] == "product"
    here = labelled("rice", site=cast.ferrowick)
    assert Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, product=here.pk).status_code == 201


def at(offset: timedelta) -> str:
    """A moment so far from now, as the API takes it."""
    return (timezone.now() + offset).isoformat()


Request = dict[str, Any]
RICE: Request = {"text": RICE_CAKE}
BAD: dict[str, tuple[Callable[[Cast], Request], str, str]] = {
    "nothing named": (lambda cast: {}, "", "food-wanted"),
    "blank label": (lambda cast: {"text": "  \n"}, "", "food-wanted"),
    "unknown gtin": (lambda cast: {"gtin": gtin(9)}, "", "label-wanted"),
    "product without a label": (lambda cast: {"product": ProductFactory().pk}, "", "label-wanted"),
    "wrong check digit": (lambda cast: {"gtin": gtin(9)[:-1] + "0"}, "gtin", "gtin"),
    "unknown product": (lambda cast: {"product": 10**12}, "product", "does_not_exist"),
    "product beyond any id": (lambda cast: {"product": 10**40}, "product", "does_not_exist"),
    "label and none": (lambda cast: {**RICE, "no_label": True}, "no_label", "contradiction"),
    "two ways to name it": (lambda cast: {"gtin": gtin(1), "product": 1}, "product", "contradiction"),
    "label too long": (lambda cast: {"text": "a" * (LONGEST_LABEL + 1)}, "text", "max_length"),
    "half a character": (lambda cast: {"text": "rice \ud83c"}, "text", "surrogate_characters_not_allowed"),
    "name of half a character": (lambda cast: {"\ud83c": 1}, "?", "unknown"),
    "gtin of half a character": (lambda cast: {"gtin": "\ud83c"}, "gtin", "surrogate_characters_not_allowed"),
    "misspelt": (lambda cast: {"no_lable": True}, "no_lable", "unknown"),
    "past": (lambda cast: {**RICE, "served_at": at(-timedelta(hours=2))}, "served_at", "past"),
    "far ahead": (lambda cast: {**RICE, "served_at": at(timedelta(days=30))}, "served_at", "far-ahead"),
    "no offset": (lambda cast: {**RICE, "served_at": "2027-03-09T14:30:00"}, "served_at", "no-offset"),
    "no time": (lambda cast: {**RICE, "served_at": "soon"}, "served_at", "invalid"),
    "end of time": (lambda cast: {**RICE, "served_at": "9999-12-31T23:59:59-12:00"}, "served_at", "overflow"),
    "class of another": (lambda cast: {**RICE, "classroom": cast.minnows.pk}, "classroom", "does_not_exist"),
    "no class": (lambda cast: {**RICE, "classroom": None}, "classroom", "null"),
}
"""By name: what is wrong with a request, the field that it is said of, and the code."""


@pytest.mark.parametrize("case", BAD)
def test_bad_input_says_what_why_how_and_saves_nothing(cast: Cast, case: str) -> None:
    """Each is refused with the field, a code and a sentence, and nothing is half saved."""
    said, field, code = BAD[case]
    request = {"classroom": cast.larks.pk, **said(cast)}
    before = rows_kept()
    answer = Asker(cast.rosa).post("treat-checks/", **request)
    [error] = answer.json()["errors"]
    assert (answer.status_code, error["field"], error["code"]) == (400, field, code)
    assert error["detail"].endswith(".") and answer.headers["Content-Type"] == "application/problem+json"
    assert rows_kept() == before


def test_every_fault_is_listed(cast: Cast) -> None:
    """Two faults in one request are two errors, so that both are mended at once."""
    body = Asker(cast.rosa).post("treat-checks/", gtin="123").json()
    assert {error["field"] for error in body["errors"]} == {"classroom", "gtin"}
    assert body["detail"].startswith("2 things are wrong")


@pytest.mark.parametrize("sent", [b"{", b"[]", b'"tea"', b"\xff\xfe", b"null", b"{}" * 3])
def test_no_json_object_is_refused(cast: Cast, sent: bytes) -> None:
    """Bytes that are no JSON object are refused with a problem."""
    client = Asker(cast.rosa).client
    answer = client.post(f"{ROOT}treat-checks/", sent, content_type="application/json")
    assert answer.status_code == 400 and answer.json()["errors"]


def test_a_label_with_a_nul_is_read(cast: Cast) -> None:
    """A stray NUL in a pasted label is no reason to go without an answer."""
    body = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, text="roasted\x00 peanuts, salt").json()
    assert "Mateo" in who(body["withhold"])


def test_a_forged_request_is_refused(cast: Cast) -> None:
    """A session alone does not write: the CSRF token must come with it, and the refusal says how."""
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(cast.rosa)
    answer = client.post(f"{ROOT}treat-checks/", {"classroom": cast.larks.pk, "no_label": True}, format="json")
    assert answer.status_code == 403 and "X-CSRFToken" in answer.json()["detail"]
    assert not TreatCheck.objects.exists()


def test_checks_of_other_classes_are_not_seen(cast: Cast) -> None:
    """Dmitri sees neither in the list nor by its address what Rosa asked; the nurse of all sites sees both."""
    made = Asker(cast.rosa).post("treat-checks/", classroom=cast.larks.pk, text=RICE_CAKE).json()["id"]
    outsider = Asker(cast.dmitri)
    assert outsider.get("treat-checks/").json()["count"] == 0
    assert outsider.get(f"treat-checks/{made}/").status_code == 404
    assert outsider.get("treat-checks/", classroom=cast.larks.pk).status_code == 400
    assert Asker(cast.hakim).get("treat-checks/", classroom=cast.larks.pk).json()["count"] == 1


@pytest.mark.parametrize("checks", [1, 6])
def test_the_list_costs_the_same_at_any_size(cast: Cast, django_assert_num_queries: Any, checks: int) -> None:
    """The number of queries does not grow with the list."""
    asker = Asker(cast.hakim)
    for _ in range(checks):
        asker.post("treat-checks/", classroom=cast.larks.pk, text=PEANUT_COOKIE)
    # The session; the person; the roles; whether a post reaches all sites; the count of checks; the checks.
    with django_assert_num_queries(6):
        answer = asker.get("treat-checks/")
    assert answer.json()["count"] == checks


def test_a_check_costs_the_same_in_a_class_of_any_size(cast: Cast) -> None:
    """Twenty more children with restrictions, no more queries: verdicts are worked out once a restriction type."""
    asker = Asker(cast.rosa)

    def cost(label: str) -> int:
        with CaptureQueriesContext(connection) as caught:
            asker.post("treat-checks/", classroom=cast.larks.pk, text=label)
        return len(caught)

    cost("Ingredients: sugar.")  # whatever is loaded once a process is loaded now
    small = cost(PEANUT_COOKIE)
    for _ in range(20):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=cast.larks)
        RestrictionFactory(child=child)
    assert cost(PEANUT_COOKIE + " Salt.") == small
