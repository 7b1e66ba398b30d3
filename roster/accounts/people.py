"""Making, closing and opening accounts. The change itself goes on record by `roster.record.watch`."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from roster.accounts.factors import end_sessions, forget_factors
from roster.accounts.locks import lift
from roster.accounts.posts import give_post
from roster.accounts.reach import Reach
from roster.models import Role, User, Verb
from roster.record.write import record


def make_account(*, username: str, email: str, first_name: str = "", last_name: str = "") -> User:
    """Make an account without a password. Raises ValidationError when the name is taken or no name at all."""
    if User.objects.filter(username__iexact=username).exists():
        raise ValidationError(f"There is an account {username} already. Leave the role out to make a new link for it.")
    user = User(username=username, email=email, first_name=first_name, last_name=last_name)
    user.set_unusable_password()
    user.full_clean()
    user.save()
    return user


@transaction.atomic
def invite_person(*, by: User, role: Role, person: dict[str, str], **fields: Any) -> User:
    """Make an account with its first post. Raises ValidationError; then there is neither."""
    if User.objects.filter(username__iexact=person["username"]).exists():
        raise ValidationError({"username": "This name is taken. Choose another one."})
    user = make_account(**person)
    give_post(by=by, user=user, role=role, **fields)
    return user


@transaction.atomic
def close_account(*, by: User, person: User) -> None:
    """Close the account and end its sessions. Its posts stay as they are, for the day on which it is opened again."""
    _refuse_beyond(by, person)
    person.is_active = False
    person.save(update_fields=["is_active"])
    end_sessions(person)


@transaction.atomic
def open_account(*, by: User, person: User) -> None:
    """Open the account again."""
    _refuse_beyond(by, person)
    person.is_active = True
    person.save(update_fields=["is_active"])


@transaction.atomic
def lift_lock(*, by: User, person: User) -> None:
    """Let the person try to sign in again at once."""
    _refuse_beyond(by, person)
    if lift(person):
        record(Verb.ENDED, f"lock of user {person.pk}", by=by.pk, before="locked", after="open")


def forget_factor(*, by: User, person: User) -> bool:
    """Take the second factor away from somebody who has lost it. Tells whether there was one."""
    _refuse_beyond(by, person)
    return forget_factors(person, by=by.pk)


def _refuse_beyond(by: User, person: User) -> None:
    if not Reach(by).may_touch(person):
        raise ValidationError(
            "This account is not yours to change: it is your own, or it holds a post beyond the sites that you "
            "administer. Ask another administrator.",
            code="reach",
        )
