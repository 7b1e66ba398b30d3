"""Ways to tamper with the record of actions by plain SQL, past everything that the service does."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta

from django.db import connection
from django.utils import timezone

from roster.models import Action, ChainEnd

TABLE = Action._meta.db_table


def _any(deal: random.Random) -> Action:
    return deal.choice(list(Action.objects.order_by("pk")))


def _write(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def edit(deal: random.Random) -> None:
    """Change one column of one entry."""
    column, value = deal.choice(
        [
            ("verb", "ended"),
            ("subject", "statement 8"),
            ("payload", '{"actor":1}'),
            ("payload", ""),
            ("digest", "a" * 64),
            ("seal", "b" * 64),
            ("actor_id", None),
            ("child_id", None),
            ("recorded_at", timezone.now() - timedelta(days=deal.randrange(1, 99))),
            ("number", 1000),
        ]
    )
    _write(f"UPDATE {TABLE} SET {column} = %s WHERE id = %s", value, _any(deal).pk)


def take_out(deal: random.Random) -> None:
    """Delete one entry."""
    _write(f"DELETE FROM {TABLE} WHERE id = %s", _any(deal).pk)


def cut_off(deal: random.Random) -> None:
    """Delete the newest entries of a chain."""
    chain = _any(deal).chain
    _write(f"DELETE FROM {TABLE} WHERE chain = %s AND number > %s", chain, deal.randrange(0, 9))


def cut_off_and_set_back(deal: random.Random) -> None:
    """The end is set back too, and only its proof cannot be made without the key."""
    last = deal.choice(list(Action.objects.filter(number__lt=10).order_by("pk")))
    _write(f"DELETE FROM {TABLE} WHERE chain = %s AND number > %s", last.chain, last.number)
    ChainEnd.objects.filter(chain=last.chain).update(number=last.number, seal=last.seal)


def copy_in(deal: random.Random) -> None:
    """Add an entry that was never made, in the place after the last."""
    entry = _any(deal)
    entry.pk, entry._state.adding = None, True
    entry.number = ChainEnd.objects.get(chain=entry.chain).number + 1
    entry.save()


def swap(deal: random.Random) -> None:
    """Exchange what two entries of a chain say, seals and all."""
    one = _any(deal)
    other = deal.choice(list(Action.objects.filter(chain=one.chain).exclude(pk=one.pk).order_by("pk")))
    for column in ("payload", "digest", "seal"):
        _write(f"UPDATE {TABLE} SET {column} = %s WHERE id = %s", getattr(other, column), one.pk)
        _write(f"UPDATE {TABLE} SET {column} = %s WHERE id = %s", getattr(one, column), other.pk)


TAMPERINGS: list[Callable[[random.Random], None]] = [
    edit, edit, edit, take_out, cut_off, cut_off_and_set_back, copy_in, swap
]  # fmt: skip
