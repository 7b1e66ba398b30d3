"""One food and a child's level of texture: the question to licensed staff, and their answer where it holds."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet
from django.utils import timezone

from compliance.checks.recorded import note_asked
from compliance.checks.texturesaid import texture_says
from compliance.models import Referral
from menus.models import Label, Site
from roster.models import Child, TextureLevel, User

KIND = "texture"


@dataclass(frozen=True, slots=True)
class Food:
    """What is asked about, and when it is needed. An answer holds for its label version; without a label, for none."""

    site: Site
    name: str
    day: date
    at: datetime | None = None
    label: Label | None = None

    @property
    def subject(self) -> str:
        """What the question is about: while it is open, or its answer holds, the same is not asked again."""
        return texture_subject(self.name, self.label.pk if self.label else None)


def texture_subject(food: str, label: int | None) -> str:
    """Return the same for a food by its name and the id of its label."""
    return f"{KIND}:label:{label}" if label else f"{KIND}:{food}"[:200]


def allowed_as_it_comes(levels: Mapping[int, TextureLevel], food: Food) -> set[int]:
    """Return the children who may have this very food at the level that stands now, by a signed answer.

    One query, none without levels.
    """
    held = _answered(levels.values(), food).filter(answer=Referral.Answer.ALLOW) if levels and food.label else ()
    return {each.child_id for each in held}


def ask_about_texture(levels: Collection[TextureLevel], food: Food, asked_by: User | None) -> list[Referral]:
    """Open a question for each level for which none waits and no answer holds on the day. Returns those opened.

    Four queries, none without levels. One that waits for a later day is brought forward.
    """
    if not levels:
        return []
    take_back_textures([level.child_id for level in levels])
    waiting = Referral.objects.waiting().filter(texture__in=levels, subject=food.subject)
    waiting.filter(needed_by__gt=food.day).update(needed_by=food.day, needed_at=food.at)
    known = Referral.objects.filter(Q(pk__in=waiting.order_by().values("pk")) | Q(pk__in=_answered(levels, food)))
    settled = set(known.order_by().values_list("texture", flat=True))
    rows = [_referral(level, food, asked_by) for level in levels if level.pk not in settled]
    Referral.objects.bulk_create(rows, ignore_conflicts=True)  # somebody else may open the same at this moment
    note_asked(rows)
    return rows


def take_back_textures(children: Collection[Child | int]) -> None:
    """Take back what waits about a level that was replaced or ended since: the same is asked of the one that stands."""
    gone = (
        Referral.objects.waiting()
        .filter(texture__child__in=children)
        .filter(Q(texture__replaced_by__isnull=False) | Q(texture__ended=True))
    )
    Referral.objects.filter(pk__in=gone.order_by().values("pk")).update(withdrawn_at=timezone.now())


def _answered(levels: Collection[TextureLevel], food: Food) -> QuerySet[Referral]:
    standing = Referral.objects.standing().filter(texture__in=levels, subject=food.subject)
    return standing.filter(answer_ends_on__gte=food.day).order_by()


def _referral(level: TextureLevel, food: Food, asked_by: User | None) -> Referral:
    return Referral(
        child_id=level.child_id,
        site=food.site,
        texture=level,
        substance="",
        kind=KIND,
        about=[],
        subject=food.subject,
        food=food.name[:160],
        question=f"Set for this child: {texture_says(level)} Nobody stated the level of this food. May it be served as "
        "it comes?",
        label=food.label,
        needed_by=food.day,
        needed_at=food.at,
        asked_by=asked_by,
    )
