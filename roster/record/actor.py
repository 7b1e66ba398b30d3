"""Who is acting: the person signed in while a request is answered, nobody in a task or a command."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_actor: ContextVar[int | None] = ContextVar("actor", default=None)


def acting() -> int | None:
    """Return the id of the person acting, or None."""
    return _actor.get()


@contextmanager
def acts(user: int | None) -> Iterator[None]:
    """Whatever is recorded inside was done by that person."""
    token = _actor.set(user)
    try:
        yield
    finally:
        _actor.reset(token)
