"""Many writes, one entry: an import of a thousand products is one action, and a check is one question."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any

from django.db import models, transaction

from menus.models import Site
from roster.models import Child
from roster.models.action import Verb
from roster.record.write import named, record


@dataclass(slots=True)
class Together:
    """One entry in the making. `subject`, `site`, `child` and `said` may be filled in until the block ends.

    `made` holds the ids of new rows and `gone` those of rows deleted, by kind; `changed` each change of a row that
    can be edited, with before and after.
    """

    verb: Verb
    subject: models.Model | str
    site: Site | None = None
    child: Child | None = None
    by: int | None = None
    said: dict[str, Any] = field(default_factory=dict)
    made: dict[str, list[int]] = field(default_factory=dict)
    gone: dict[str, list[int]] = field(default_factory=dict)
    changed: list[dict[str, Any]] = field(default_factory=list)

    def note(self, row: models.Model, before: dict[str, Any] | None, after: dict[str, Any] | None) -> None:
        """Take in that a row was made (nothing before), changed, or deleted (nothing after)."""
        if before is not None and after is not None:
            self.changed.append({"what": named(row), "before": before, "after": after})
        else:
            rows = self.gone if after is None else self.made
            rows.setdefault(str(row._meta.verbose_name), []).append(row.pk)


_open: ContextVar[Together | None] = ContextVar("together", default=None)


def gathering() -> Together | None:
    """Return the entry that takes in what is written now, or None when each write is an entry of its own."""
    return _open.get()


@contextmanager
def as_one(
    verb: Verb,
    subject: models.Model | str,
    *,
    site: Site | None = None,
    child: Child | None = None,
    by: int | None = None,
    **said: Any,
) -> Iterator[Together]:
    """Put whatever is written inside on record as one entry, at the end of the block and of its transaction.

    A block inside a block joins it, and is given the outer one's entry to fill in. What a service records itself, with
    `record`, stays an entry of its own. When the block fails nothing is recorded, and
    the transaction around it fails with it.
    """
    outer = _open.get()
    if outer:
        yield outer
        return
    entry = Together(verb, subject, site, child, by, said)
    with transaction.atomic(savepoint=False):
        token = _open.set(entry)
        try:
            yield entry
        finally:
            _open.reset(token)
        rows = {name: getattr(entry, name) for name in ("made", "changed", "gone") if getattr(entry, name)}
        record(entry.verb, entry.subject, site=entry.site, child=entry.child, by=entry.by, **entry.said, **rows)
