"""Children's names as a class knows them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from roster.models import Child


def short_names(children: Iterable[Child]) -> dict[int, str]:
    """Return each child's given name and family initial by id; whole names where two would look the same."""
    several = {child.pk: child for child in children}
    short = {pk: f"{child.given_name} {child.family_name[:1]}." for pk, child in several.items()}
    shared = Counter(short.values())
    return {pk: str(several[pk]) if shared[name] > 1 else name for pk, name in short.items()}
