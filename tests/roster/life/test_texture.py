"""Levels of texture: said by licensed staff by a statement, version by version, and never lapsing by themselves."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from roster.life.stale import Stale
from roster.life.texture import record_texture, texture_of, textures_of
from roster.models import Action, TextureLevel, User, Verb
from tests.cast import Cast
from tests.web.pages import as_user, words


def said(cast: Cast, *, by: User | None = None, replaces: TextureLevel | None = None, **more: Any) -> TextureLevel:
    today = timezone.localdate()
    fields = {
        "food_level": 5,
        "drink_level": None,
        "signatory": "P. Example, speech-language pathologist",
        "signed_on": today - timedelta(days=400),
        "review_on": today - timedelta(days=35),
        "signature": "H. RN",
        **more,
    }
    return record_texture(child=cast.kofi, recorded_by=by or cast.hakim, replaces=replaces, **fields)


def test_a_level_past_its_day_goes_on_holding(cast: Cast) -> None:
    """Design: losing a paper never makes anything milder."""
    level = said(cast)
    assert level.is_past(timezone.localdate())
    assert textures_of([cast.kofi], timezone.now()) == {cast.kofi.pk: level}


def test_an_end_has_a_reason_and_is_on_record(cast: Cast) -> None:
    """And what stood before stays readable."""
    first = said(cast)
    with pytest.raises(ValidationError, match="Say why"):
        said(cast, replaces=first, food_level=None, ended=True)
    last = said(cast, replaces=first, food_level=None, ended=True, end_reason="Statement of today sets none.")
    assert textures_of([cast.kofi], timezone.now()) == {} and texture_of(cast.kofi) == last
    assert textures_of([cast.kofi], first.recorded_at) == {cast.kofi.pk: first}
    assert Action.objects.latest("pk").verb == Verb.ENDED
    with pytest.raises(ValidationError, match="none to end"):
        said(cast, replaces=last, ended=True, end_reason="Again.")


@pytest.mark.parametrize("fields", [{"food_level": None}, {"signatory": ""}, {"food_level": 2}, {"drink_level": 5}])
def test_it_says_a_level_by_a_statement(cast: Cast, fields: dict[str, Any]) -> None:
    """3 to 7 for food, 0 to 4 for drink."""
    with pytest.raises(ValidationError):
        said(cast, **fields)


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "june", "amara", "wren"])
def test_nobody_but_licensed_staff(cast: Cast, who: str) -> None:
    """A level is a clinician's order."""
    with pytest.raises(PermissionDenied):
        said(cast, by=getattr(cast, who))


def test_two_at_once(cast: Cast) -> None:
    """The second is told who was first."""
    said(cast)
    with pytest.raises(Stale, match="Hakim recorded another version meanwhile"):
        said(cast, food_level=6)


def test_the_page_takes_it_and_the_class_and_the_sheet_say_it(cast: Cast) -> None:
    """By number and in neutral words."""
    today = timezone.localdate()
    nurse = as_user(cast.hakim)
    sent = {
        "food_level": "5",
        "signatory": "P. Example",
        "signed_on": today.isoformat(),
        "review_on": (today + timedelta(days=300)).isoformat(),
        "signature": "H. RN",
        "password": "a tray of cupcakes",
    }
    answer = nurse.post(f"/children/{cast.kofi.pk}/texture/", sent, follow=True)
    assert "Food of texture level 5 (soft and moist" in words(answer)
    assert "Food of texture level 5" in words(as_user(cast.rosa).get("/today/"))
    assert as_user(cast.rosa).get("/today/sheet.pdf").content.startswith(b"%PDF")
