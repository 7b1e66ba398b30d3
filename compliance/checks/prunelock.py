"""Who goes first where checks point to what is stored once, and pruning throws away what nothing points to.

A check looks up a dish, finds it stored, and points to it some statements later. Between the two a pruning that sees
nothing point there would take it away. So checks hold a lock of the database together with other checks until their
transaction ends, and each batch of a pruning holds it alone: then it sees all that any check has pointed to, and nobody
is about to. SQLite needs none: its transactions write one after the other (`IMMEDIATE`).
"""

from __future__ import annotations

from django.db import connection

LOCK = 7_263_001
"""Key of the advisory lock: any number that nobody else uses (PostgreSQL, “Advisory Locks”, from memory)."""


def hold_off_pruning() -> None:
    """Keep all that is stored until the caller's transaction ends. To be called before it looks for what is stored."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [LOCK])


def may_prune() -> bool:
    """Tell whether nobody checks at this moment; then nobody begins until the caller's transaction ends.

    It never waits: a pruning that queued for the lock would hold up every check behind it.
    """
    if connection.vendor != "postgresql":
        return True
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [LOCK])
        (granted,) = cursor.fetchone()
    return bool(granted)
