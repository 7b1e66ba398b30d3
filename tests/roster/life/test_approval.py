"""Products approved for rooms: by whom, of which label, and how it ends."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from menus.models import Product
from roster.life.approval import approve_product, approved_labels, end_approval
from roster.models import Action, RoomApproval, User, Verb
from tests.cast import Cast
from tests.factories import LabelFactory, ProductFactory, labelled


def butter() -> Product:
    return labelled("sunflower seeds, salt", name="Sunflower seed butter")


def approved(cast: Cast, product: Product, *, by: User | None = None, **more: Any) -> RoomApproval:
    day = timezone.localdate()
    said = {"classrooms": [None], "label": product.labels.first(), "starts_on": day, "ends_on": day, **more}
    (made,) = approve_product(
        site=cast.ferrowick, product=product, approved_by=by or cast.june, signature="June", **said
    )
    return made


def test_it_holds_for_the_room_and_its_days(cast: Cast) -> None:
    """Every room of the site, or one; no other site; not the day after."""
    day, product = timezone.localdate(), butter()
    approval = approved(cast, product)
    assert approved_labels(cast.larks, day) == {approval.label_id}
    assert approved_labels(cast.minnows, day) == set()
    assert approved_labels(cast.larks, day + timedelta(days=1)) == set()


def test_it_ends_at_once_and_once(cast: Cast) -> None:
    """With who and why on record."""
    approval = approved(cast, butter())
    end_approval(approval=approval, reason="New recipe announced.", ended_by=cast.hakim)
    assert approved_labels(cast.larks, timezone.localdate()) == set()
    assert Action.objects.latest("pk").verb == Verb.ENDED
    with pytest.raises(ValidationError, match="ended already"):
        end_approval(approval=approval, reason="Again.", ended_by=cast.hakim)


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "ursula", "amara", "wren"])
def test_nobody_else_approves(cast: Cast, who: str) -> None:
    """Licensed staff and administrators alone."""
    with pytest.raises(PermissionDenied):
        approved(cast, butter(), by=getattr(cast, who))


def test_a_label_is_needed_and_the_newest(cast: Cast) -> None:
    """Nobody approves what they did not see."""
    with pytest.raises(ValidationError, match="No label of this product"):
        approved(cast, ProductFactory.create())
    product = butter()
    seen = product.labels.get()
    LabelFactory.create(product=product, ingredients="sunflower seeds, peanuts")
    with pytest.raises(ValidationError, match="A newer label"):
        approved(cast, product, label=seen)


def test_a_room_of_another_site_is_refused(cast: Cast) -> None:
    """A room belongs to the site that approves."""
    with pytest.raises(ValidationError, match="another site"):
        approved(cast, butter(), classrooms=[cast.minnows])
