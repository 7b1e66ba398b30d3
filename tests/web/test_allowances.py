"""A child's allowances: where each stands, and how licensed staff withdraw one."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.recheck import sites_touched
from compliance.checks.run import check_site
from menus.labels.evidence import Kind
from menus.models import Product
from menus.services.labels import record_label
from roster.models import Action, Allowance, AllowanceWithdrawal
from tests.cast import Cast
from tests.factories import PASSWORD, AllowanceFactory, ServingFactory, cooked, labelled
from tests.web.pages import as_user, queries, words

pytestmark = pytest.mark.django_db

SIGNED = {"reason": "The clinic changed its plan.", "signature": "H. Example, RN", "password": PASSWORD}


@pytest.fixture
def muffin() -> Product:
    return labelled("wheat flour, milk, sugar", name="Muffin")


@pytest.fixture
def allowance(cast: Cast, muffin: Product) -> Allowance:
    """Anneke may have the milk in this muffin as labelled."""
    restriction = cast.anneke.restrictions.get()
    made: Allowance = AllowanceFactory(
        restriction=restriction, kind=Kind.NAMED.value, about="milk", label=muffin.labels.get(), signed_by=cast.hakim
    )
    return made


def listed(cast: Cast) -> str:
    return words(as_user(cast.hakim).get(reverse("child-allowances", args=[cast.anneke.pk])))


def withdraw(cast: Cast, allowance: Allowance, **typed: str) -> HttpResponse:
    address = reverse("allowance-withdraw", args=[allowance.pk])
    return as_user(cast.hakim).post(address, {**SIGNED, **typed}, follow=True)


def test_each_stands_with_its_scope_and_its_state(cast: Cast, allowance: Allowance) -> None:
    """In the words of the rules, not in codes."""
    AllowanceFactory(restriction=allowance.restriction, ends_on=timezone.localdate(), starts_on=timezone.localdate())
    page = listed(cast)
    assert "Present as an ingredient, milk; Muffin, label 1 alone" in page
    assert "Highly refined oil, milk; in every food" in page
    assert page.count("Applies") == 2 and "Signed A. Example, RD" in page


@pytest.mark.parametrize(("starts", "ends", "state"), [(1, 9, "Begins later"), (-9, -1, "its last day is past")])
def test_the_day_decides(cast: Cast, allowance: Allowance, starts: int, ends: int, state: str) -> None:
    """Not yet, and no longer."""
    today = timezone.localdate()
    when = {"starts_on": today + timedelta(days=starts), "ends_on": today + timedelta(days=ends)}
    AllowanceFactory(restriction=allowance.restriction, about="milk", **when)
    assert state in listed(cast)


def test_a_new_label_ends_it_and_licensed_staff_are_told(cast: Cast, muffin: Product, allowance: Allowance) -> None:
    """On the list, on the child's page and among what is due."""
    hakim = as_user(cast.hakim)
    pages = [
        reverse("due"),
        reverse("child", args=[cast.anneke.pk]),
        reverse("child-allowances", args=[cast.anneke.pk]),
    ]
    for address in pages:
        assert "no longer appl" not in words(hakim.get(address)).lower()
    record_label(product=muffin, ingredients="wheat flour, milk, sugar, whey", seen_on=timezone.localdate())
    for address in pages:
        assert "no longer appl" in words(hakim.get(address)).lower()
        assert "new label" in words(hakim.get(address)).lower()


def test_withdrawn_with_a_reason_it_counts_for_nothing(cast: Cast, muffin: Product, allowance: Allowance) -> None:
    """From the next check, which the withdrawal itself asks for; what was signed stays on the list."""
    ServingFactory(site=cast.ferrowick, recipe=cooked("Muffins", muffin))
    check_site(site=cast.ferrowick, trigger="hand")
    asked = ExceptionFilter(timezone.localdate(), timezone.localdate(), site=cast.ferrowick, substance="milk")
    assert not [row for row in find_exceptions(None, asked) if row.dish == "Muffins"]
    assert "counts for nothing from now" in words(withdraw(cast, allowance))
    check_site(site=cast.ferrowick, trigger="hand")
    assert [row.child for row in find_exceptions(None, asked) if row.dish == "Muffins"] == [cast.anneke]
    page = listed(cast)
    assert "withdrawn" in page.lower() and "The clinic changed its plan." in page
    kept = AllowanceWithdrawal.objects.get()
    assert (kept.withdrawn_by, kept.signature) == (cast.hakim, "H. Example, RN")
    entry = Action.objects.get(verb="ended", subject=f"allowance {allowance.pk}")
    assert (entry.child, entry.actor) == (cast.anneke, cast.hakim)
    assert "The clinic changed its plan." in entry.payload


def test_the_sites_of_the_child_are_checked_again_at_once(cast: Cast, allowance: Allowance) -> None:
    """The withdrawal is a fact like the others."""
    withdraw(cast, allowance)
    assert list(sites_touched(AllowanceWithdrawal.objects.get())) == [cast.ferrowick]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"reason": ""}, "Say why it is withdrawn"),
        ({"password": "wrong"}, "not your password"),
        ({"signature": " "}, ""),
    ],
)
def test_it_takes_reason_signature_and_password(
    cast: Cast, allowance: Allowance, typed: dict[str, str], said: str
) -> None:
    """Nothing typed is lost, and nothing is withdrawn."""
    page = words(withdraw(cast, allowance, **typed))
    assert said in page
    assert not AllowanceWithdrawal.objects.exists()


def test_twice_is_refused(cast: Cast, allowance: Allowance) -> None:
    """The second reads who was first."""
    withdraw(cast, allowance)
    assert "has withdrawn this allowance already" in words(withdraw(cast, allowance))
    assert AllowanceWithdrawal.objects.count() == 1


def test_others_neither_see_nor_withdraw(cast: Cast, allowance: Allowance) -> None:
    """It is 404 for who may not see the row."""
    for user in (cast.rosa, cast.greta, cast.june, cast.dmitri, cast.wren):
        client = as_user(user)
        assert client.get(reverse("child-allowances", args=[cast.anneke.pk])).status_code == 404
        assert client.post(reverse("allowance-withdraw", args=[allowance.pk]), SIGNED).status_code == 404
    assert not AllowanceWithdrawal.objects.exists()


def test_the_number_of_queries_does_not_grow(cast: Cast, allowance: Allowance) -> None:
    """One allowance or twenty."""
    hakim = as_user(cast.hakim)
    address = reverse("child-allowances", args=[cast.anneke.pk])
    small = queries(lambda: hakim.get(address))
    for n in range(20):
        product = labelled("wheat flour, milk", name=f"Bun {n}")
        AllowanceFactory(restriction=allowance.restriction, kind=Kind.NAMED.value, label=product.labels.get())
    assert queries(lambda: hakim.get(address)) == small
