"""The second factor: who must have one, who has one, and how a lost one is forgotten."""

from __future__ import annotations

from collections.abc import Iterable

from allauth.mfa.models import Authenticator
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from roster.access import posts
from roster.models import Post, User, Verb
from roster.record.write import record

FACTORS = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)
"""Recovery codes stand in for one of these, and are none by themselves."""


def must_have_factor(user: User, held: Iterable[Post] | None = None) -> bool:
    """Tell whether the person's posts ask for a second factor; one who may repair must have one too.

    `held` are the posts held today, where they are known already; else it costs one query.
    """
    wanted = set(settings.SECOND_FACTOR_ROLES)
    if not wanted or user.is_superuser:
        return bool(wanted)
    return any(post.role in wanted for post in (posts(user) if held is None else held))


def has_factor(user: User) -> bool:
    """Tell whether the person has set up a second factor. One query."""
    return Authenticator.objects.filter(user=user, type__in=FACTORS).exists()


def with_factor(users: Iterable[User]) -> set[int]:
    """Return the ids of those who have a second factor. One query."""
    return set(Authenticator.objects.filter(user__in=users, type__in=FACTORS).values_list("user_id", flat=True))


@transaction.atomic
def forget_factors(user: User, *, by: int | None = None) -> bool:
    """Take away every second factor and recovery code of the person and end their sessions; put it on record.

    For a phone or key that is lost. Whoever does it has made sure, face to face, who asks. Tells whether there was any.
    """
    kinds = sorted(Authenticator.objects.filter(user=user).values_list("type", flat=True))
    if not kinds:
        return False
    Authenticator.objects.filter(user=user).delete()
    end_sessions(user)
    record(Verb.ENDED, f"second factor of user {user.pk}", by=by, before=kinds, after=[])
    return True


def end_sessions(user: User) -> None:
    """End every session of the person that has begun by now."""
    user.sessions_since = timezone.now()
    user.save(update_fields=["sessions_since"])
