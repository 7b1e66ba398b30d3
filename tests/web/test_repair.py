"""The repair site: superusers find and mend rows, facts and verdicts stay as they are."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.checks.table import hand_out
from compliance.checks.treatfood import Said, check_said
from compliance.models import Announcement, Run
from menus.admin import ReadOnlyAdmin
from menus.models import Product, ProductNutrition, Supplier
from menus.models.facts import Fact
from menus.services.patterns import set_pattern
from menus.signals import facts_changed
from roster.models import Enrolment
from tests.cast import Cast
from tests.factories import AllowanceFactory, LabelPhotoFactory, UserFactory, WordWithdrawalFactory, labelled
from tests.web.doors import a_morning

OURS = [model for model in admin.site._registry if model._meta.app_label in ("menus", "roster", "compliance")]
KEPT = [model for model in OURS if isinstance(admin.site._registry[model], ReadOnlyAdmin)]


def address(model: Any, what: str, *args: Any) -> str:
    """Where the repair site shows something of a model."""
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{what}", args=args)


@pytest.fixture
def mender(cast: Cast) -> Client:
    """A superuser's client, with a row behind most lists."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    hand_out(check=check, user=cast.rosa)
    a_morning(cast)
    Announcement.objects.create(run=Run.objects.get(), serving=cast.servings[0], child=cast.mateo, outcome=2)
    AllowanceFactory(restriction=cast.mateo.restrictions.get())
    WordWithdrawalFactory()
    LabelPhotoFactory()
    ProductNutrition.objects.create(product=labelled("oats"), source=ProductNutrition.Source.LABEL, basis_g=100)
    set_pattern(site=cast.ferrowick, meal="lunch", program="nslp-lunch", group="K-5", starts_on=timezone.localdate())
    client, superuser = Client(), UserFactory(is_superuser=True, is_staff=True)
    client.force_login(superuser)
    return client


def test_every_list_and_row_opens(mender: Client) -> None:
    """Lists answer, searched too, and so does the newest row of each."""
    wrong = {}
    for model in OURS:
        listed = mender.get(address(model, "changelist"), {"q": "a"})
        newest = model._default_manager.order_by("-pk").first()
        shown = mender.get(address(model, "change", newest.pk)) if newest else listed
        if (listed.status_code, shown.status_code) != (200, 200):
            wrong[model.__name__] = (listed.status_code, shown.status_code)
    assert not wrong


def test_facts_and_verdicts_are_read_only(mender: Client) -> None:
    """No superuser adds, edits or deletes what was recorded or found."""
    assert {model.__name__ for model in KEPT} == {
        *(model.__name__ for model in OURS if issubclass(model, Fact)),
        *("Run", "RestrictionTypeRow", "Referral"),
        *("CheckedDay", "DishVerdicts", "FoodRead", "Panel", "PreparedDish", "ServedDish"),
    }
    for model in KEPT:
        row = model._default_manager.latest("pk")
        assert mender.get(address(model, "add")).status_code == 403
        assert mender.post(address(model, "change", row.pk), {}).status_code == 403
        assert mender.post(address(model, "delete", row.pk), {"post": "yes"}).status_code == 403


def test_a_mended_product_is_checked_again(mender: Client) -> None:
    """A change that bears on how labels are read is announced like any other fact."""
    product, said = Product.objects.get(name="Oat bar"), []
    facts_changed.connect(lambda instance, **_: said.append(instance), weak=False, dispatch_uid="test")
    form = {"code": product.code, "name": product.name, "jurisdiction": "eu", "regulator": "", "origin": "kitchen"}
    answer = mender.post(address(Product, "change", product.pk), form)
    facts_changed.disconnect(dispatch_uid="test")
    product.refresh_from_db()
    assert answer.status_code == 302 and product.jurisdiction == "eu" and said == [product]


def test_an_overlapping_enrolment_is_refused(mender: Client, cast: Cast) -> None:
    """Repair holds to the rule of the service: one classroom a day, and says which enrolment stands in the way."""
    day = timezone.localdate()
    form = {"child": cast.bao.pk, "classroom": cast.minnows.pk, "starts_on": day.isoformat()}
    answer = mender.post(address(Enrolment, "add"), form)
    assert "is already in Larks" in answer.content.decode()
    standing = Enrolment.objects.get(child=cast.bao)
    ended = {"child": cast.bao.pk, "classroom": cast.larks.pk, "starts_on": standing.starts_on.isoformat()}
    ended["ends_on"] = (day - timedelta(days=1)).isoformat()
    assert mender.post(address(Enrolment, "change", standing.pk), ended).status_code == 302
    assert mender.post(address(Enrolment, "add"), form).status_code == 302
    assert Enrolment.objects.filter(child=cast.bao).count() == 2


@pytest.mark.parametrize("products", [1, 12])
def test_a_list_costs_the_same_at_any_size(mender: Client, django_assert_num_queries: Any, products: int) -> None:
    """The number of queries does not grow with the list."""
    for n in range(products):
        labelled("rice", supplier=Supplier.objects.create(name=f"Supplier of {n}"))
    # The session; the person; the products matched; all products; the products of the page with supplier and site.
    with django_assert_num_queries(5):
        assert mender.get(address(Product, "changelist")).status_code == 200
