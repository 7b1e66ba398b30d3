"""The class table and hands: what a food leaves there, and what takes it off."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from compliance.checks.table import hand_out, wash
from compliance.checks.treat import check_treat
from compliance.models import TableEvent, TreatCheck
from menus.models import Label
from tests.cast import Cast
from tests.clock import noon_at
from tests.factories import labelled
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def peanut(cast: Cast) -> TreatCheck:
    """Peanut bars, checked for Larks; it is noon there."""
    noon_at(cast.ferrowick)
    cast.larks.site.refresh_from_db()
    return checked(cast, "Peanut bar", labelled("roasted peanuts, sugar").labels.get())


def checked(cast: Cast, food: str, label: Label | None) -> TreatCheck:
    """Rosa asks about a food for now."""
    return check_treat(
        user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), source="pasted", food=food, label=label
    )


def apples(cast: Cast) -> dict[str, str]:
    """What apple slices mean now, by child."""
    result = checked(cast, "Apple slices", labelled("apples").labels.get()).result
    return {row["child"].split()[0]: row["outcome"] for kind in ("withhold", "refer") for row in result[kind]}


def test_a_food_that_was_only_asked_about_left_nothing(cast: Cast, peanut: TreatCheck) -> None:
    """The teacher chose another one: no alarm for it."""
    assert apples(cast) == {}


def test_a_food_that_was_handed_out_reaches_the_next(cast: Cast, peanut: TreatCheck) -> None:
    """By the table and by hands; the reason says which food and where. Offers are held against the same table."""
    hand_out(check=peanut, user=cast.rosa)
    assert apples(cast) == {"Mateo": "withhold"}
    row = TreatCheck.objects.latest("pk").result["withhold"][0]
    assert row["findings"][0]["rule"] == "R04"
    assert {row["findings"][0]["chain"][-1][2]} <= {"The class table", "The children's hands"}
    assert TreatCheck.objects.latest("pk").result["offers"] == []


@pytest.mark.parametrize(
    ("washings", "expected"),
    [
        ((), {"Mateo": "withhold"}),
        (("table-soap",), {"Mateo": "withhold"}),
        (("hands-soap",), {"Mateo": "withhold"}),
        (("table-soap", "hands-gel"), {"Mateo": "withhold"}),
        (("table-soap", "hands-soap"), {}),
    ],
)
def test_soap_and_water_on_table_and_hands_ends_it(
    cast: Cast, peanut: TreatCheck, washings: tuple[str, ...], expected: dict[str, str]
) -> None:
    """Gel does not clean hands. Source: Perry et al. 2004, J Allergy Clin Immunol 113:973 (read)."""
    hand_out(check=peanut, user=cast.rosa)
    for washing in washings:
        wash(classroom=cast.larks, user=cast.rosa, washing=washing)
    assert apples(cast) == expected


def test_washed_before_it_came_is_not_washed(cast: Cast, peanut: TreatCheck) -> None:
    """A cleaning counts between the two."""
    for washing in ("table-soap", "hands-soap"):
        wash(classroom=cast.larks, user=cast.rosa, washing=washing)
    hand_out(check=peanut, user=cast.rosa)
    assert apples(cast) == {"Mateo": "withhold"}


def test_play_dough_and_bird_seed_are_foods_here(cast: Cast, peanut: TreatCheck) -> None:
    """Handled, not eaten: the wheat of the dough is on hands all the same (CC037 of the controls, from memory)."""
    dough = checked(cast, "Play dough", labelled("wheat flour, water, salt").labels.get())
    hand_out(check=dough, user=cast.rosa)
    assert apples(cast) == {"Noor": "withhold"}


def test_something_without_a_label_leaves_something_unread(cast: Cast, peanut: TreatCheck) -> None:
    """Nobody knows what is on the table now: licensed staff are asked."""
    hand_out(check=checked(cast, "Craft paste", None), user=cast.rosa)
    assert set(apples(cast).values()) == {"refer"}


def test_another_class_has_its_own_table(cast: Cast, peanut: TreatCheck) -> None:
    """Nor does the teacher of another class record here."""
    with pytest.raises(PermissionDenied):
        hand_out(check=peanut, user=cast.dmitri)
    with pytest.raises(ValidationError, match="choose one of the buttons"):
        wash(classroom=cast.larks, user=cast.rosa, washing="a prayer")
    assert not TableEvent.objects.exists()


def test_the_database_keeps_no_record_without_a_food_or_a_washing(cast: Cast) -> None:
    """Whoever writes it."""
    now = timezone.now()
    with pytest.raises(IntegrityError, match="table_event"), transaction.atomic():
        TableEvent.objects.create(
            classroom=cast.larks, kind="washed", happened_at=now, recorded_at=now, recorded_by=cast.rosa
        )


def test_a_teacher_records_by_one_touch_each(cast: Cast, peanut: TreatCheck) -> None:
    """From the answer to the table, and from the next question to the washing."""
    rosa = as_user(cast.rosa)
    assert "On the class table today" not in words(rosa.get("/treat/"))
    assert "Peanut bar is on the table" in words(rosa.post(f"/treat/{peanut.pk}/handed-out/", follow=True))
    shown = words(rosa.get("/treat/"))
    assert "On the class table today" in shown and "Peanut bar" in shown
    gel = rosa.post("/treat/washed/", {"washing": "hands-gel"}, follow=True)
    assert "Gel takes no allergen off hands" in words(gel)
    assert "Recorded: the class table, washed" in words(
        rosa.post("/treat/washed/", {"washing": "table-soap"}, follow=True)
    )
    assert as_user(cast.dmitri).post(f"/treat/{peanut.pk}/handed-out/").status_code == 404
