"""The form that copies a level of texture from a statement: signed, and never over what another person saved."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from roster.life.texture import texture_of
from roster.models import TextureLevel
from tests.cast import Cast
from tests.factories import PASSWORD, TextureLevelFactory
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def sent(cast: Cast, **more: Any) -> HttpResponse:
    today = timezone.localdate()
    typed = {
        "food_level": "6",
        "signatory": "P. Example",
        "signed_on": today.isoformat(),
        "review_on": (today + timedelta(days=300)).isoformat(),
        "signature": "H. RN",
        "password": PASSWORD,
        **more,
    }
    return as_user(cast.hakim).post(reverse("child-texture", args=[cast.kofi.pk]), typed, follow=True)


def test_a_level_recorded_meanwhile_is_shown_before_anything_is_kept(cast: Cast) -> None:
    """It stands above with its statement; sent again, it is replaced knowingly."""
    newer = TextureLevelFactory.create(child=cast.kofi, food_level=4, recorded_by=cast.june)
    answer = sent(cast)
    assert "June recorded another version meanwhile" in words(answer) and "Food of texture level 4" in words(answer)
    assert soup(answer).find(id="id_signatory")["value"] == "P. Example"
    assert TextureLevel.objects.count() == 1
    sent(cast, under=soup(answer).find(id="id_under")["value"])
    newest = texture_of(cast.kofi)
    assert newest and newest.food_level == 6 and newest.replaces == newer


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"signed_on": "2999-01-01"}, "is still to come. Give the date that stands on the statement."),
        ({"food_level": ""}, "Give the level for food, for drink, or for both"),
        ({"ended": "on", "end_reason": "Newer letter."}, "there is none to end"),
        ({"password": "wrong"}, "Nothing was signed"),
    ],
)
def test_what_says_too_little_is_refused_and_stays_in_the_form(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Nothing typed is lost, and nothing is recorded."""
    answer = sent(cast, **more)
    assert told in words(answer) and not TextureLevel.objects.exists()
    assert soup(answer).find(id="id_signatory")["value"] == "P. Example"
