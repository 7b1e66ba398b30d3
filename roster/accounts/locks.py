"""The pause after too many failed sign-ins under one name from one address, and how it is lifted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from axes.helpers import get_client_ip_address
from axes.models import AccessAttempt
from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone

from roster.models import User


def name_tried(request: HttpRequest, credentials: Mapping[str, Any] | None = None) -> str | None:
    """Return the name under which somebody tries to sign in, as the lock counts it: small letters, no spaces round it.

    Called by axes (AXES_USERNAME_CALLABLE). Names are taken without regard to capitals at the sign-in, so the lock may
    not be passed by writing one.
    """
    name = (credentials or {}).get("username") or request.POST.get("username")
    return name.strip().casefold()[:255] if name else None


def is_locked(request: HttpRequest, username: str) -> bool:
    """Tell whether that name is locked for the address that asks, and if so mark the request as refused by the lock."""
    credentials = {"username": username}
    if AxesProxyHandler.is_allowed(request, credentials):
        return False
    # Read by axes, whose middleware answers then.
    request.axes_locked_out, request.axes_credentials = True, credentials  # type: ignore[attr-defined]
    return True


def locked_until(request: HttpRequest, username: str | None) -> datetime | None:
    """Return when the pause for that name and the address that asks is over; None when there is none. One query."""
    tried = AccessAttempt.objects.filter(username=username, ip_address=get_client_ip_address(request))
    return _end(tried)


def locks_of(users: Iterable[User]) -> dict[int, datetime]:
    """Return until when each person's name is locked, for some address at least, by the id of the person. One query."""
    names = {user.username.casefold(): user.pk for user in users}
    attempts = defaultdict[str, list[AccessAttempt]](list)
    for attempt in AccessAttempt.objects.filter(username__in=names, attempt_time__gt=_threshold()):
        attempts[attempt.username].append(attempt)
    ends = {names[name]: _end(several) for name, several in attempts.items()}
    return {pk: end for pk, end in ends.items() if end}


def lift(user: User) -> bool:
    """Forget the failed tries under the person's name, from every address. Tells whether there was a lock."""
    was_locked = bool(locks_of([user]))
    AxesProxyHandler.reset_attempts(username=user.username.casefold())
    return was_locked


def _threshold() -> datetime:
    return timezone.now() - settings.AXES_COOLOFF_TIME


def _end(attempts: Iterable[AccessAttempt]) -> datetime | None:
    """The latest end of the pauses that these attempts brought about: tries are counted by address."""
    by_address = defaultdict[str, list[AccessAttempt]](list)
    for attempt in attempts:
        if attempt.attempt_time > _threshold():
            by_address[str(attempt.ip_address)].append(attempt)
    ends = [
        max(each.attempt_time for each in several) + settings.AXES_COOLOFF_TIME
        for several in by_address.values()
        if sum(each.failures_since_start for each in several) >= settings.AXES_FAILURE_LIMIT
    ]
    return max(ends, default=None)
