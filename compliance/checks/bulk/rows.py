"""Write many rows at once: by COPY on PostgreSQL, by executemany elsewhere. Signals are not sent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

from django.db import connection
from django.db.backends.utils import CursorWrapper
from django.db.models import Model
from django.db.models.fields import Field
from psycopg.types.json import Jsonb

Row = Sequence[Any]
_Any = TypeVar("_Any", bound=Model)


def insert(model: type[Model], names: Sequence[str], rows: Iterable[Row]) -> None:
    """Write new rows; `names` are the fields of the values. The caller holds the transaction."""
    fields = _fields(model, names)
    if connection.vendor == "postgresql":
        _copy(_table(model), fields, rows)
    else:
        _many(f"INSERT INTO {_table(model)} {_columns(fields)} VALUES ({_marks(fields)})", fields, rows)


def upsert(
    model: type[Model], names: Sequence[str], rows: Iterable[Row], *, unique: Sequence[str], change: bool = True
) -> None:
    """Write rows; where one with the same `unique` fields stands, its others are changed when they differ.

    Without `change` such a row stays as it is. The caller holds the transaction.
    """
    fields = _fields(model, names)
    others = [field.column for field in fields if change and field.name not in unique]
    table = _table(model)
    changed = " OR ".join(f"{table}.{_q(name)} IS DISTINCT FROM excluded.{_q(name)}" for name in others)
    update = ", ".join(f"{_q(name)} = excluded.{_q(name)}" for name in others)
    on_conflict = f"ON CONFLICT {_columns(_fields(model, unique))} DO " + (
        f"UPDATE SET {update} WHERE {changed}" if others else "NOTHING"
    )
    if connection.vendor == "postgresql":
        columns = ", ".join(_q(field.column) for field in fields)
        order = ", ".join(_q(field.column) for field in _fields(model, unique))
        with _staged(model, fields, rows) as (cursor, staged):
            # In one order, so that two writers wait for each other and never in a ring.
            cursor.execute(
                f"INSERT INTO {table} ({columns}) SELECT {columns} FROM {staged} ORDER BY {order} {on_conflict}"
            )
    else:
        _many(f"INSERT INTO {table} {_columns(fields)} VALUES ({_marks(fields)}) {on_conflict}", fields, rows)


def insert_new(rows: Sequence[_Any]) -> None:
    """Write rows of one table that are not stored yet, save where a unique constraint forbids it. Sets no ids."""
    if not rows:
        return
    model = type(rows[0])
    if connection.vendor != "postgresql":
        model._default_manager.bulk_create(rows, batch_size=500, ignore_conflicts=True)
        return
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    with _staged(model, fields, ([field.pre_save(row, add=True) for field in fields] for row in rows)) as (
        cursor,
        staged,
    ):
        columns = ", ".join(_q(field.column) for field in fields)
        cursor.execute(f"INSERT INTO {_table(model)} ({columns}) SELECT {columns} FROM {staged} ON CONFLICT DO NOTHING")


def update(model: type[Model], names: Sequence[str], rows: Iterable[Row]) -> None:
    """Change rows that stand: of `names`, the first says which. The caller holds the transaction."""
    fields = _fields(model, names)
    table, (key, *others) = _table(model), [_q(field.column) for field in fields]
    if connection.vendor == "postgresql":
        with _staged(model, fields, rows) as (cursor, staged):
            assigned = ", ".join(f"{name} = {staged}.{name}" for name in others)
            cursor.execute(f"UPDATE {table} SET {assigned} FROM {staged} WHERE {table}.{key} = {staged}.{key}")
    else:
        assigned = ", ".join(f"{name} = %s" for name in others)
        moved = ([*row[1:], row[0]] for row in rows)
        _many(f"UPDATE {table} SET {assigned} WHERE {key} = %s", [*fields[1:], fields[0]], moved)


@contextmanager
def _staged(
    model: type[Model], fields: Sequence[Field[Any, Any]], rows: Iterable[Row]
) -> Iterator[tuple[CursorWrapper, str]]:
    """Copy the rows into a table that lasts as long as the block, and give a cursor and the table's name."""
    staged = _q(f"staged_{model._meta.db_table}")
    columns = ", ".join(_q(field.column) for field in fields)
    with connection.cursor() as cursor:
        like = f"SELECT {columns} FROM {_table(model)}"
        cursor.execute(f"CREATE TEMP TABLE {staged} ON COMMIT DROP AS {like} WITH NO DATA")
        _copy(staged, fields, rows)
        yield cursor, staged
        cursor.execute(f"DROP TABLE {staged}")


def _copy(table: str, fields: Sequence[Field[Any, Any]], rows: Iterable[Row]) -> None:
    statement = f"COPY {table} {_columns(fields)} FROM STDIN (FORMAT BINARY)"
    with connection.cursor() as cursor, cursor.copy(statement) as copy:
        copy.set_types([_TYPES[field.db_type(connection) or ""] for field in fields])
        for row in rows:
            copy.write_row([Jsonb(value) if isinstance(value, dict | list) else value for value in row])


_TYPES = {
    "bigint": "int8",
    "integer": "int4",
    "smallint": "int2",
    "date": "date",
    "timestamp with time zone": "timestamptz",
    "bytea": "bytea",
    "boolean": "bool",
    "text": "text",
    "uuid": "uuid",
    "jsonb": "jsonb",
} | {f"varchar({length})": "varchar" for length in range(1, 256)}


def _many(statement: str, fields: Sequence[Field[Any, Any]], rows: Iterable[Row]) -> None:
    prepared = [
        [field.get_db_prep_save(value, connection) for field, value in zip(fields, row, strict=True)] for row in rows
    ]
    if prepared:
        with connection.cursor() as cursor:
            cursor.executemany(statement, prepared)


def _fields(model: type[Model], names: Sequence[str]) -> list[Field[Any, Any]]:
    fields = (model._meta.get_field(name) for name in names)
    return [field for field in fields if isinstance(field, Field)]


def _table(model: type[Model]) -> str:
    return _q(model._meta.db_table)


def _columns(fields: Sequence[Field[Any, Any]]) -> str:
    return f"({', '.join(_q(field.column) for field in fields)})"


def _marks(fields: Sequence[Field[Any, Any]]) -> str:
    return ", ".join("%s" for _ in fields)


def _q(name: str | None) -> str:
    assert name  # every field that is stored has a column
    return connection.ops.quote_name(name)
