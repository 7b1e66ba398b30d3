"""The demo's level of texture: set for one child of the teacher's class of whom no food is on record."""

from __future__ import annotations

from datetime import date, timedelta

from roster.life.texture import record_texture
from roster.models import Child, Classroom, User


def load_textures(room: Classroom, *, today: date, nurse: User) -> None:
    """Write food of level 5 for the last child of the room without a restriction."""
    child = Child.objects.filter(enrolments__classroom=room, restrictions=None).latest("pk")
    record_texture(
        child=child,
        recorded_by=nurse,
        replaces=None,
        food_level=5,
        signatory="A. Example, speech-language pathologist",
        signed_on=today - timedelta(days=340),
        review_on=today + timedelta(days=25),  # so that it stands among what is due
        signature=f"{nurse}, RN",
    )
