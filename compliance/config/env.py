"""Read settings from the environment, refusing a wrong value by name."""

from __future__ import annotations

import os
import re

from django.core.exceptions import ImproperlyConfigured

TRUE = {"1", "true", "yes", "on"}
FALSE = {"0", "false", "no", "off", ""}


def text(name: str, default: str = "") -> str:
    """Return the variable as text."""
    return os.environ.get(name, default)


def flag(name: str, *, default: bool) -> bool:
    """Return the variable as a yes or no; anything else stops start-up."""
    value = os.environ.get(name)
    if value is None:
        return default
    if value.lower() in TRUE:
        return True
    if value.lower() in FALSE:
        return False
    raise ImproperlyConfigured(f"{name} is {value!r}, which is neither yes nor no. Set it to 1 or 0.")


def number(name: str, default: int) -> int:
    """Return the variable as a whole number; anything else stops start-up."""
    value = os.environ.get(name)
    if value is None:
        return default
    try:
        return int(value)
    except ValueError:
        raise ImproperlyConfigured(
            f"{name} is {value!r}, which is not a whole number. Set it to digits only."
        ) from None


def rate(name: str, default: str) -> str:
    """Return the variable as so many a time, such as 30/min; anything else stops start-up."""
    value = os.environ.get(name, default).strip()
    if not re.fullmatch(r"[1-9]\d*/(second|min|hour|day)", value):
        raise ImproperlyConfigured(f"{name} is {value!r}. Say how many in which time, such as 30/min or 600/hour.")
    return value


def choice(name: str, default: str, *others: str) -> str:
    """Return the variable as one of the words that it may be; anything else stops start-up."""
    value = os.environ.get(name, default).strip().lower()
    if value not in (default, *others):
        raise ImproperlyConfigured(f"{name} is {value!r}. Set it to one of: {', '.join((default, *others))}.")
    return value


def words(name: str) -> list[str]:
    """Return the variable as a list of words separated by commas."""
    return [word.strip() for word in os.environ.get(name, "").split(",") if word.strip()]
