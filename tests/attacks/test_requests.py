"""Requests that no browser of ours sends: without a token, by another method, to another host, twice a parameter."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from compliance.models import TreatCheck
from roster.models import Action, Restriction
from tests.attacks.conftest import insiders, signed_in
from tests.cast import Cast
from tests.web.doors import DOORS, World, address, knock
from tests.web.test_role_walk import outsiders

FORM = "application/x-www-form-urlencoded"


def test_no_form_from_elsewhere_is_taken(world: World) -> None:
    """A POST to every address, as somebody whom it lets in, without the token: refused, and nothing is on record."""
    wrong = {}
    for name, client in insiders(world, enforce_csrf_checks=True):
        where, asked = address(name, world), DOORS[name].asks(world)
        count = Action.objects.count()
        answer = client.post(where, asked)
        if answer.status_code not in (403, 405) or Action.objects.count() != count:
            wrong[name] = answer.status_code
    assert not wrong


def test_a_get_changes_nothing(world: World) -> None:
    """Except that reading and taking along are on record: every other entry after a GET would be a change."""
    wrong = {}
    for name, client in insiders(world):
        if DOORS[name].method != "get":
            continue
        address(name, world), DOORS[name].asks(world)  # which make what they name, where it is not there yet
        last = Action.objects.latest("pk").pk
        knock(client, world, name)
        verbs = set(Action.objects.filter(pk__gt=last).values_list("verb", flat=True))
        if verbs - {"read", "exported"}:
            wrong[name] = verbs
    assert not wrong


def leads_to_signing_again(answer: Any) -> bool:
    """Whether the answer, whatever was asked, is that one has to say once more who one is."""
    return answer.status_code == 302 and answer.headers["Location"].startswith(reverse("sign-in-again"))


def test_other_methods_are_refused(world: World) -> None:
    """On every address, and nothing is on record."""
    wrong = {}
    for name, client in insiders(world):
        where = address(name, world)
        count = Action.objects.count()
        for method in ("PUT", "PATCH", "DELETE", "TRACE"):
            answer = client.generic(method, where)
            refused = answer.status_code in (403, 404, 405) or leads_to_signing_again(answer)
            if not refused or Action.objects.count() != count:
                wrong[name, method] = answer.status_code
    assert not wrong


def test_a_method_cannot_be_dressed_up(world: World) -> None:
    """A GET that says it is something else is a GET, on an address that takes none."""
    june = signed_in(world.cast.june)
    headers = {"X-HTTP-Method-Override": "POST", "X-Method-Override": "POST"}
    assert june.get(reverse("cycle-recheck"), {"_method": "POST"}, headers=headers).status_code == 405


@pytest.mark.django_db
@pytest.mark.parametrize("host", ["evil.example", "testserver.evil.example", "testserver@evil.example", "a b"])
def test_another_host_is_refused(host: str) -> None:
    """Whatever name the request says it came to, it goes into no link."""
    answer = Client(raise_request_exception=False).get(reverse("sign-in"), headers={"host": host})
    assert answer.status_code == 400 and b"evil" not in answer.content


def test_a_forwarded_host_is_not_believed(cast: Cast) -> None:
    """Only a proxy that was set up may say so, and this service asks none."""
    answer = signed_in(cast.rosa).get(
        f"{reverse('api-classrooms')}?limit=1", headers={"x-forwarded-host": "evil.example"}
    )
    assert b"evil" not in answer.content


@pytest.mark.parametrize("order", [("ferrowick", "tansy-gate"), ("tansy-gate", "ferrowick")])
def test_a_parameter_given_twice_opens_nothing(world: World, order: tuple[str, str]) -> None:
    """One's own site and another's in one address, either way round."""
    rooms = {"ferrowick": world.cast.larks.pk, "tansy-gate": world.cast.minnows.pk}
    pairs = [(key, value) for code in order for key, value in (("site", code), ("class", rooms[code]))]
    pages = [name for name, this in DOORS.items() if not this.of and this.method == "get"]
    wrong = set()
    for user in outsiders(world.cast):
        client = signed_in(user)
        for name in pages:
            body = client.get(f"{address(name, world)}?{urlencode(pairs)}").content
            if b"Larks" in body or b"Ferrowick" in body:
                wrong.add((name, user.username))
    assert not wrong


@pytest.mark.parametrize(
    "path",
    [
        "/static/../manage.py",
        "/static/..%2f..%2fmanage.py",
        "/static/%2e%2e/%2e%2e/etc/passwd",
        "/static/....//....//etc/passwd",
        "/static/vendor/..%5c..%5cmanage.py",
        "/imports/products/template.csv%00.py",
        "/imports/../../etc/passwd",
        "/exceptions/export.csv/../../record/export.csv",
        "/files/labels/x",
        "/.data/service.sqlite3",
        "//evil.example/%2e%2e",
    ],
)
def test_no_path_leads_out(cast: Cast, path: str) -> None:
    """Neither to a file of ours nor to another host."""
    answer = signed_in(cast.june).get(path)
    assert answer.status_code in (301, 302, 403, 404)
    assert "evil.example" not in answer.headers.get("Location", "")


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "..\\..\\x.csv", "/etc/passwd", "a\x00b.csv", "=1+1.csv", "🙂" * 300]
)
def test_the_name_of_a_file_is_never_used(cast: Cast, name: str) -> None:
    """It is neither opened nor written to nor shown as markup; what counts is what the file holds."""
    answer = signed_in(cast.june).post(reverse("import-products"), {"file": SimpleUploadedFile(name, b"code,name\n")})
    assert answer.status_code in (200, 400)
    assert b"root:" not in answer.content


@pytest.mark.parametrize(
    "there", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)", "https:evil.example"]
)
def test_after_signing_in_one_stays_here(cast: Cast, there: str) -> None:
    """`next` leads to an address of ours, or it is passed over."""
    client = Client()
    page = client.get(reverse("sign-in"), {"next": there})
    assert page.status_code == 200
    client.force_login(cast.rosa)
    led = client.get(reverse("sign-in"), {"next": there})
    assert "evil" not in led.headers.get("Location", "") and "javascript" not in led.headers.get("Location", "")


EXTRA = {
    "id": 1,
    "pk": 1,
    "user": 1,
    "child": 1,
    "site": 1,
    "basis": "statement",
    "review": 1,
    "reviewed_by": 1,
    "recorded_by": 1,
    "recorded_at": "2001-01-01",
    "signed_by": 1,
    "is_staff": "on",
    "is_superuser": "on",
    "role": "administrator",
    "ends_on": "2001-01-01",
    "statement": 1,
    "origin": "catalogue",
    "result": "{}",
    "checked_by": 1,
    "number": 7,
}
"""Columns that no form offers to whoever fills it in."""


def test_a_report_takes_what_its_form_has_and_nothing_more(cast: Cast) -> None:
    """Basis, review, author and last day are ours to say."""
    client = signed_in(cast.rosa)
    page = reverse("child-report", args=[cast.bao.pk])
    said = {"kind": "food-allergy", "substances": ["kiwi"], "strictness": "trace", "days": "every"}
    client.post(page, said | EXTRA)
    for row in Restriction.objects.filter(child=cast.bao):
        assert (row.basis, row.review, row.statement, row.recorded_by, row.ends_on) == (
            "reported",
            None,
            None,
            cast.rosa,
            None,
        )
    assert not Restriction.objects.exclude(child=cast.bao).filter(substance="kiwi", recorded_by=cast.rosa).exists()


def test_a_treat_check_takes_what_its_form_has_and_nothing_more(cast: Cast) -> None:
    """Who checked, when, and what came of it are ours to say."""
    signed_in(cast.rosa).post(
        reverse("treat"), {"class": cast.larks.pk, "when": "now", "no_label": "on", "name": "Cupcakes"} | EXTRA
    )
    check = TreatCheck.objects.get()
    assert (check.checked_by == cast.rosa and check.pk != 1) or check.result != {}
    assert check.recorded_at.year > 2001 and check.result["children"] == 8


@pytest.mark.parametrize("field", ["checked_by", "result", "recorded_at", "id", "outcome"])
def test_the_api_refuses_fields_that_it_does_not_know(cast: Cast, field: str) -> None:
    """Refused, not passed over: a misspelt name must not widen anything."""
    client = signed_in(cast.rosa)
    body = {"classroom": cast.larks.pk, "no_label": True, "name": "Cupcakes", field: 1}
    answer = client.post(reverse("api-treat-checks"), body, content_type="application/json")
    assert answer.status_code == 400 and field in answer.content.decode()
    assert not TreatCheck.objects.exists()


def test_the_api_takes_no_form_and_no_parameter_twice(cast: Cast) -> None:
    """A form could be sent from another site without asking first; two values are one too many."""
    client = signed_in(cast.rosa)
    assert client.post(reverse("api-treat-checks"), "a=b", content_type=FORM).status_code == 415
    assert client.get(f"{reverse('api-classrooms')}?limit=1&limit=2").status_code == 400
