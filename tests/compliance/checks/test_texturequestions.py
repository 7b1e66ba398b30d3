"""A treat and a child's level of texture: the question that reaches licensed staff, and the answer that holds."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from compliance.checks.answers import answers_since
from compliance.checks.referrals import answer_referrals
from compliance.checks.run import check_site
from compliance.checks.texturequestions import take_back_textures
from compliance.checks.treat import check_treat
from compliance.models import Referral, TreatCheck
from menus.models import Label
from menus.services.labels import record_label
from roster.models import Action, Restriction, TextureLevel
from tests.cast import Cast
from tests.factories import TextureLevelFactory
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def level(cast: Cast) -> TextureLevel:
    """Food of level 5, for a child with no restriction."""
    return TextureLevelFactory.create(child=cast.bao)


def treat(cast: Cast, label: Label | None, *, in_days: int = 0) -> TreatCheck:
    """Yogurt for the class."""
    return check_treat(
        user=cast.rosa,
        classroom=cast.larks,
        served_at=timezone.now() + timedelta(days=in_days),
        source=TreatCheck.Source.PASTED,
        food="Yogurt",
        label=label,
    )


def yogurt(cast: Cast) -> Label:
    return cast.larder.yogurt.labels.latest("number")


def of_texture() -> list[Referral]:
    return list(Referral.objects.waiting().filter(texture__isnull=False))


def answered(cast: Cast, **more: Any) -> list[Referral]:
    """Hakim answers what waits."""
    said = {"answer": "allow", "note": "", "ends_on": timezone.localdate() + timedelta(days=30), "signature": "H. RN"}
    return answer_referrals(referrals=of_texture(), user=cast.hakim, **{**said, **more})


def test_a_treat_asks_once_for_child_and_food(cast: Cast, level: TextureLevel) -> None:
    treat(cast, yogurt(cast), in_days=2)
    treat(cast, yogurt(cast))
    treat(cast, yogurt(cast), in_days=1)
    [asked] = of_texture()
    assert (asked.child, asked.texture, asked.restriction, asked.site) == (cast.bao, level, None, cast.ferrowick)
    assert asked.needed_by == timezone.localdate(), "brought forward"
    assert "Food of texture level 5" in asked.question
    told = Action.objects.filter(verb="checked", subject__startswith="treat check").order_by("pk")
    asked_for = {"child": cast.bao.pk, "texture": level.pk}
    assert [asked_for in json.loads(each.payload)["said"].get("asked", []) for each in told] == [True, False, False]
    treat(cast, None)
    assert len(of_texture()) == 2, "another food, or the same without its label, is another question"


@pytest.mark.parametrize("food_level", [7, None])
def test_no_level_no_question(cast: Cast, food_level: int | None) -> None:
    if food_level:
        TextureLevelFactory(child=cast.bao, food_level=food_level)
    treat(cast, yogurt(cast))
    assert of_texture() == []


def test_allowed_it_holds_for_that_label_and_that_level(cast: Cast, level: TextureLevel) -> None:
    first = treat(cast, yogurt(cast))
    before = yogurt(cast)
    answered(cast)
    assert answers_since([first])[first.pk].children == [(cast.bao, "allow")]
    again = treat(cast, before)
    assert again.result["texture"] == [] and again.result["texture_allowed"] == [cast.bao.pk]
    assert again.result["none_found"] == first.result["none_found"] + 1 and of_texture() == []
    page = words(as_user(cast.rosa).get(reverse("treat-result", args=[again.pk])))
    assert "the texture of this label version does not count for Bao E." in page
    newer = record_label(product=cast.larder.yogurt, ingredients="milk, fruit", seen_on=timezone.localdate())
    assert treat(cast, newer).result["texture_allowed"] == []
    TextureLevelFactory(child=cast.bao, food_level=4, replaces=level)
    assert treat(cast, before).result["texture_allowed"] == []


def test_past_its_last_day_it_is_asked_anew(cast: Cast, level: TextureLevel) -> None:
    treat(cast, yogurt(cast))
    answered(cast, ends_on=timezone.localdate())
    assert treat(cast, yogurt(cast)).result["texture"] == []
    assert len(treat(cast, yogurt(cast), in_days=1).result["texture"]) == 1 and len(of_texture()) == 1


def test_kept_withheld_it_is_neither_allowed_nor_asked_again(cast: Cast, level: TextureLevel) -> None:
    first = treat(cast, yogurt(cast))
    answered(cast, answer="keep")
    assert answers_since([first])[first.pk].children == [(cast.bao, "keep")]
    assert len(treat(cast, yogurt(cast)).result["texture"]) == 1 and of_texture() == []


def test_without_a_label_there_is_nothing_to_allow(cast: Cast, level: TextureLevel) -> None:
    treat(cast, None)
    with pytest.raises(ValidationError, match="Nothing can be allowed while no label is on record"):
        answered(cast)


def test_an_answer_about_texture_lifts_no_restriction(cast: Cast) -> None:
    TextureLevelFactory(child=cast.anneke)
    treat(cast, yogurt(cast))
    [asked] = answered(cast)
    assert list(asked.allowances.all()) == []
    assert cast.anneke.pk in {row["child_id"] for row in treat(cast, yogurt(cast)).result["withhold"]}


def test_a_newer_level_takes_the_question_back(cast: Cast, level: TextureLevel) -> None:
    treat(cast, yogurt(cast))
    take_back_textures([cast.bao])
    assert len(of_texture()) == 1, "nothing changed"
    newer = TextureLevelFactory(child=cast.bao, food_level=4, replaces=level)
    take_back_textures([cast.bao])
    assert of_texture() == []
    treat(cast, yogurt(cast))
    assert [each.texture for each in of_texture()] == [newer]


def test_the_night_leaves_it_alone(cast: Cast, level: TextureLevel) -> None:
    """It hangs on no restriction, so no check takes it back."""
    treat(cast, yogurt(cast))
    check_site(site=cast.ferrowick, trigger="hand")
    assert len(of_texture()) == 1


def test_licensed_staff_find_it_on_their_list_and_answer(cast: Cast, level: TextureLevel) -> None:
    TextureLevelFactory(child=cast.noor, food_level=4)  # another level is another question
    treat(cast, yogurt(cast))
    hakim, asked = as_user(cast.hakim), Referral.objects.get(texture=level)
    assert "Yogurt" in words(hakim.get(reverse("referrals"))) and "Yogurt" in words(
        hakim.get(reverse("child", args=[cast.bao.pk]))
    )
    page = words(hakim.get(reverse("referral", args=[asked.pk])))
    assert "Texture Food level 5" in page and "Bao Example: food level 5" in page and "as it comes" in page
    assert "Noor" not in page
    assert as_user(cast.rosa).get(reverse("referral", args=[asked.pk])).status_code == 404


def test_a_question_is_about_a_restriction_or_a_texture(cast: Cast, level: TextureLevel) -> None:
    """Never about both, nor about neither."""
    treat(cast, yogurt(cast))
    [asked] = of_texture()
    both = Restriction.objects.filter(child=cast.noor).first()
    for wrong in ({"restriction": both}, {"texture": None}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Referral.objects.filter(pk=asked.pk).update(**wrong)
