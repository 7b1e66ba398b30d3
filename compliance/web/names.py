"""Children's names as a class knows them, and no two the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from roster.models import Child


def short_names(children: Iterable[Child]) -> dict[int, str]:
    """Return each child's given name and family initial by id; whole names where two would look the same."""
    several = {child.pk: child for child in children}
    short = {pk: f"{child.given_name} {child.family_name[:1]}." for pk, child in several.items()}
    whole, alike = whole_names(several.values()), _twice(short)
    return {pk: whole[pk] if pk in alike else name for pk, name in short.items()}


def whole_names(children: Iterable[Child]) -> dict[int, str]:
    """Return each child's whole name by id; with the birthday, then the number, where two are called the same."""
    several = {child.pk: child for child in children}
    names = {pk: str(child) for pk, child in several.items()}
    for told in (_birthday, _number):
        alike = _twice(names)
        names |= {pk: f"{names[pk]}, {told(several[pk])}" for pk in alike}
    return names


def _twice(names: dict[int, str]) -> set[int]:
    """The ids whose name another has as well."""
    shared = Counter(name.casefold() for name in names.values())
    return {pk for pk, name in names.items() if shared[name.casefold()] > 1}


def _birthday(child: Child) -> str:
    """Day and month: what a class knows, and no more."""
    return f"born {child.birth_date.day} {child.birth_date:%B}" if child.birth_date else "birthday not on record"


def _number(child: Child) -> str:
    return f"number {child.source_id or child.pk}"
