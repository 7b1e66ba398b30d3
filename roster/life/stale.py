"""Two people at once: whoever writes the next version of what a child has one of has seen the newest."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.core.exceptions import ValidationError

from roster.models import Child, EmergencyPlan, LunchBox, TextureLevel, User

OneOfAChild = EmergencyPlan | TextureLevel | LunchBox
Kept = TypeVar("Kept", EmergencyPlan, TextureLevel, LunchBox)


class Stale(ValidationError):
    """Somebody recorded a newer version meanwhile, and nothing was saved."""

    def __init__(self, newer: OneOfAChild, who: User) -> None:
        self.newer = newer
        super().__init__(
            "%(who)s recorded another version meanwhile. It stands above. Compare it with what you typed, then save "
            "again.",
            code="stale",
            params={"who": who},
        )


def newest_seen(child: Child, newest_of: Callable[[], Kept | None], seen: Kept | None) -> Kept | None:
    """Return the newest version, and let nobody else write one for the child until the transaction is through.

    Raises Stale when it is not the version that the person saw. Two queries.
    """
    Child.objects.select_for_update(no_key=True).get(pk=child.pk)  # two versions at once must see each other
    newest = newest_of()
    if newest and newest != seen:
        raise Stale(newest, _who(newest))
    return newest


def _who(version: OneOfAChild) -> User:
    return version.put_together_by if isinstance(version, LunchBox) else version.recorded_by
