"""The named cast is what its table says."""

from __future__ import annotations

import pytest

from menus.models import Product, Serving
from roster.models import Enrolment, Post, Restriction, Role
from tests import factories
from tests.cast import Cast


@pytest.mark.django_db
def test_every_factory_makes_a_row_that_the_model_accepts() -> None:
    """A factory without arguments gives a row that passes the model's own validation."""
    for make in (
        factories.SiteFactory,
        factories.SupplierFactory,
        factories.ProductFactory,
        factories.LabelFactory,
        factories.RecipeFactory,
        factories.RecipeVersionFactory,
        factories.RecipeLineFactory,
        factories.CycleMenuFactory,
        factories.CycleEntryFactory,
        factories.ServingFactory,
        factories.SurfaceFactory,
        factories.PlanStepFactory,
        factories.UserFactory,
        factories.ClassroomFactory,
        factories.PostFactory,
        factories.ChildFactory,
        factories.EnrolmentFactory,
        factories.RestrictionFactory,
        factories.AllowanceFactory,
    ):
        make.create().full_clean()


def test_cast_is_whole(cast: Cast) -> None:
    """Ten children in two classrooms, ten posts, four dishes today, and a label behind every product."""
    assert Enrolment.objects.filter(classroom=cast.larks).count() == 8
    assert Enrolment.objects.filter(classroom=cast.minnows).count() == 2
    assert Post.objects.count() == 10 and not cast.wren.posts.exists()
    assert Serving.objects.count() == 4
    assert not Product.objects.filter(labels=None).exists()


def test_bao_is_the_control(cast: Cast) -> None:
    """One child of the cast has no restriction; nine have at least one."""
    assert not cast.bao.restrictions.exists()
    assert Restriction.objects.values("child").distinct().count() == 9


def test_cast_signs_in(cast: Cast) -> None:
    """Every account opens with the one password of the factories."""
    assert cast.rosa.check_password(factories.PASSWORD)
    assert cast.rosa.posts.get().role == Role.TEACHER


def test_gtins_are_of_the_range_for_examples() -> None:
    """GS1 keeps prefix 952 for demonstrations and examples, so that no number is somebody's."""
    assert factories.gtin(1) == "09520000000011"
    factories.ProductFactory.build(with_gtin=True, supplier=None).clean_fields()
