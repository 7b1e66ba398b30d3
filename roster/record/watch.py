"""Put every change of a watched table on record, whoever makes it: a page, the API, an import, a command, a repair.

Services that say more than a row does record it themselves and are not watched (see `watched`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import models
from django.db.models.signals import post_delete, post_save, pre_save

from menus.models import Site
from menus.models.facts import Fact
from roster.models import Child
from roster.models.action import Verb
from roster.record.together import gathering
from roster.record.write import record

_BEFORE = "_before_this_save"
_WRITERS = (
    "recorded_by_id",
    "checked_by_id",
    "seen_by_id",
    "proposed_by_id",
    "reviewed_by_id",
    "withdrawn_by_id",
    "taken_by_id",
)
"""Columns in which a fact itself says who wrote it."""


def nowhere(row: Any) -> None:
    """What belongs to no one site, or to no child."""


@dataclass(frozen=True, slots=True)
class Watch:
    """How changes of one table are told: at which site, about which child, and which columns are not repeated.

    Of `masked` columns it is told that they changed, never to what; of `digested` ones a SHA-256, by which the stored
    text can be proved. `says` adds what is not in a column.
    """

    site: Callable[[Any], Site | None] = nowhere
    child: Callable[[Any], Child | None] = nowhere
    verb: Verb = Verb.RECORDED
    hidden: tuple[str, ...] = ()
    masked: tuple[str, ...] = ()
    digested: tuple[str, ...] = ()
    says: Callable[[Any], Mapping[str, Any]] = lambda row: {}


def watch(tables: Mapping[type[models.Model], Watch]) -> None:
    """Begin to watch the tables. Doing it twice changes nothing."""
    for table, how in tables.items():
        place = table._meta.label
        _WATCHES[table] = how
        if not issubclass(table, Fact):  # a fact is never edited, so there is nothing before it
            pre_save.connect(_before, sender=table, dispatch_uid=f"before {place}")
            post_delete.connect(_deleted, sender=table, dispatch_uid=f"deleted {place}")
        post_save.connect(_saved, sender=table, dispatch_uid=f"saved {place}")


_WATCHES: dict[type[models.Model], Watch] = {}


def is_watched(table: type[models.Model]) -> bool:
    """Tell whether changes of the table go on record by themselves."""
    return table in _WATCHES


def remember(rows: Iterable[models.Model]) -> None:
    """Remember rows of watched tables, just read, as they stand before they are changed many at once."""
    for row in rows:
        setattr(row, _BEFORE, {column.attname: getattr(row, column.attname) for column in row._meta.concrete_fields})


def tell(rows: Iterable[models.Model]) -> None:
    """Put rows of watched tables on record that were written many at once, past the signals: changed where they were
    remembered, else new.
    """
    for row in rows:
        _saved(type(row), row, created=False)


def _before(sender: type[models.Model], instance: models.Model, raw: bool = False, **_: Any) -> None:
    # The row as it stands, not as this instance was loaded: somebody else may have changed it meanwhile.
    known = not raw and not instance._state.adding
    setattr(instance, _BEFORE, sender._default_manager.filter(pk=instance.pk).values().first() if known else None)


def _saved(sender: type[models.Model], instance: models.Model, created: bool, raw: bool = False, **_: Any) -> None:
    if raw:  # a fixture brings its own rows, and its own record
        return
    how = _WATCHES[sender]
    now = {column.attname: getattr(instance, column.attname) for column in instance._meta.concrete_fields}
    was = instance.__dict__.pop(_BEFORE, None)
    if created or was is None:
        _tell(how.verb, instance, how, None, _told(how, now) | dict(how.says(instance)))
        return
    differs = {name for name in now if now[name] != was[name] and name not in how.hidden}
    if differs:
        before, after = (_told(how, {name: row[name] for name in differs}, whole=True) for row in (was, now))
        _tell(Verb.RECORDED, instance, how, before, after)


def _deleted(sender: type[models.Model], instance: models.Model, **_: Any) -> None:
    how = _WATCHES[sender]
    was = {column.attname: getattr(instance, column.attname) for column in instance._meta.concrete_fields}
    _tell(Verb.ENDED, instance, how, _told(how, was), None)


def _tell(
    verb: Verb, row: models.Model, how: Watch, before: dict[str, Any] | None, after: dict[str, Any] | None
) -> None:
    together = gathering()
    if together:
        together.note(row, before, after)
        return
    by = next((getattr(row, name) for name in _WRITERS if getattr(row, name, None)), None)
    said = {name: value for name, value in (("before", before), ("after", after)) if value is not None}
    record(verb, row, site=how.site(row), child=how.child(row), by=by, **said)


def _told(how: Watch, row: Mapping[str, Any], whole: bool = False) -> dict[str, Any]:
    """What is said of a row: the columns that hold something, or all of them when they are compared."""
    told: dict[str, Any] = {}
    for name, value in row.items():
        if name in how.hidden or name in ("id", "recorded_at") or (not whole and value in (None, "", [], {})):
            continue
        if name in how.masked:
            told[name] = "(not told)"
        elif name in how.digested:
            told[name] = hashlib.sha256(str(value).encode()).hexdigest()
        else:
            told[name] = value if isinstance(value, int | float | bool | list | dict | None) else str(value)
    return told
