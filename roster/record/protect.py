"""Let the database itself refuse edits of the record of actions: triggers everywhere, rights too on PostgreSQL.

The seals find what was changed; this makes changing it hard. Two things stay possible, and the triggers say which: an
entry may be emptied as a whole, which is what a purge does and what the seals tell from tampering, and the end of a
chain may move on by one. On PostgreSQL the service had best connect as a role of its own, which owns no table: it may
then add entries and empty them through one function, and an owner's `ALTER TABLE` is out of its reach. On SQLite
whoever can write to the file can take a trigger off; then the seals alone find it.
"""

from __future__ import annotations

from pathlib import Path

from django.db import connection, transaction

from roster.models.action import Action, ChainEnd

ACTIONS, ENDS = Action._meta.db_table, ChainEnd._meta.db_table
EMPTY = "roster_action_empty"
"""Function of PostgreSQL, owned by the owner of the table, that empties entries of one chain."""

_SQL = Path(__file__).parent / "sql"
_TRIGGERS = {"sqlite": 5, "postgresql": 6}


class CannotProtect(Exception):
    """The database was left as it was. The message says why and what to do."""


@transaction.atomic
def protect(role: str = "") -> None:
    """Put the triggers in place, anew where they are there; with a role, on PostgreSQL, give it just what it needs.

    Raises CannotProtect for a database that is neither, and for a role that is not there or owns the table.
    """
    vendor = connection.vendor
    if vendor not in _TRIGGERS:
        raise CannotProtect(f"The record cannot be protected in {connection.display_name}: use PostgreSQL or SQLite.")
    if role and vendor != "postgresql":
        raise CannotProtect("Only PostgreSQL has roles. Leave --role out: the triggers are put in place all the same.")
    with connection.cursor() as cursor:
        for statement in (_SQL / f"{vendor}.sql").read_text().split("\n\n"):
            cursor.execute(statement)
        if role:
            _grant(role)


def _grant(role: str) -> None:
    """Let the role add and read, move the ends on, and empty through the function; take everything else away."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT r.rolsuper OR pg_has_role(r.rolname, c.relowner, 'MEMBER') FROM pg_roles r, pg_class c "
            "WHERE r.rolname = %s AND c.oid = %s::regclass",
            [role, ACTIONS],
        )
        found = cursor.fetchone()
        if found is None:
            raise CannotProtect(f"There is no role {role!r}. Make it first: CREATE ROLE … LOGIN PASSWORD …")
        if found[0]:
            raise CannotProtect(
                f"The role {role!r} owns the tables or is a superuser, so nothing can be kept from it. Let the service "
                "connect as a role that does not, and run this as the owner."
            )
        name = connection.ops.quote_name(role)
        for statement in (
            f"GRANT USAGE ON SCHEMA public TO {name}",
            f"GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {name}",
            f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {name}",
            f"REVOKE UPDATE, DELETE, TRUNCATE ON {ACTIONS} FROM {name}",
            f"REVOKE DELETE, TRUNCATE ON {ENDS} FROM {name}",
            f"GRANT EXECUTE ON FUNCTION {EMPTY}(bigint, bigint[]) TO {name}",
        ):
            cursor.execute(statement)


def is_protected() -> bool:
    """Tell whether every trigger is in place and switched on. One query."""
    if connection.vendor == "sqlite":
        ask = "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'record\\_%%' ESCAPE '\\'"
    elif connection.vendor == "postgresql":
        ask = (
            "SELECT count(*) FROM pg_trigger WHERE tgname LIKE 'record\\_%%' AND tgenabled <> 'D' AND NOT tgisinternal"
        )
    else:
        return False
    with connection.cursor() as cursor:
        cursor.execute(ask, [])
        return bool(cursor.fetchone()[0] == _TRIGGERS[connection.vendor])


def empty(chain: int, numbers: list[int]) -> None:
    """Empty those entries, through the function where there is one. Only `purge` may ask for it."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT to_regprocedure(%s)", [f"{EMPTY}(bigint, bigint[])"])
            if cursor.fetchone()[0]:
                cursor.execute(f"SELECT {EMPTY}(%s, %s)", [chain, numbers])
                return
    # Not through save(): a fact refuses to be edited, and this is the one way in which it may lose its content.
    Action.objects.filter(chain=chain, number__in=numbers).update(payload="", actor=None, child=None, subject="")
