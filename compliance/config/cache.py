"""The shared counts of requests, kept where the broker is. When it is away, nobody is kept from a page by that."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any, TypeVar

from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

logger = logging.getLogger(__name__)
Kept = TypeVar("Kept")


class SharedCounts(RedisCache):
    """A cache on Redis or Valkey that forgets instead of failing: a check matters more than a count of checks."""

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        return _or(default, lambda: super(SharedCounts, self).get(key, default, version))

    def set(self, *args: Any, **kwargs: Any) -> None:
        _or(None, lambda: super(SharedCounts, self).set(*args, **kwargs))

    def add(self, *args: Any, **kwargs: Any) -> bool:
        return _or(True, lambda: super(SharedCounts, self).add(*args, **kwargs))

    def incr(self, key: Any, delta: int = 1, version: int | None = None) -> int:
        return _or(delta, lambda: super(SharedCounts, self).incr(key, delta, version))

    def touch(self, *args: Any, **kwargs: Any) -> bool:
        return _or(True, lambda: super(SharedCounts, self).touch(*args, **kwargs))

    def delete(self, *args: Any, **kwargs: Any) -> bool:
        return _or(False, lambda: super(SharedCounts, self).delete(*args, **kwargs))


def _or(instead: Kept, ask: Callable[[], Kept]) -> Kept:
    try:
        return ask()
    except RedisError as error:
        logger.warning("Requests are not counted: the cache cannot be reached (%s).", type(error).__name__)
        return instead
