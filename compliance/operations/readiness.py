"""Whether the service is fit to answer, what it lacks, and what wants somebody though it answers. Names nobody."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from compliance.operations.overdue import last_checked, late_sites
from compliance.operations.queues import broker_answers
from compliance.operations.scope import Scope
from roster.models import ChainEnd
from roster.record.chain import proof_of_end
from roster.record.write import record_key

logger = logging.getLogger(__name__)

FINE = "ok"


class State(StrEnum):
    """How fit the service is."""

    READY = "ready"
    DEGRADED = "degraded"
    """Pages answer, and somebody should look: checks may be missing or late."""
    NOT_READY = "not ready"
    """Pages would fail, or write what could not be verified. No request should be sent here."""


@dataclass(frozen=True, slots=True)
class Readiness:
    """The state, and by the name of each thing looked at `ok` or what is wrong with it."""

    state: State
    looked_at: dict[str, str]


def readiness() -> Readiness:
    """Look at everything. Some six queries; the broker is given two seconds."""
    needed: dict[str, Callable[[], str]] = {"migrations": _migrations, "record key": _record_key}
    wanted: dict[str, Callable[[], str]] = {"broker": _broker, "checks": _checks}
    said = {"database": _database()}
    if said["database"] == FINE:
        said |= {name: look() for name, look in needed.items()}
    if any(each != FINE for each in said.values()):
        return Readiness(State.NOT_READY, said)
    late = {name: look() for name, look in wanted.items()}
    state = State.READY if all(each == FINE for each in late.values()) else State.DEGRADED
    return Readiness(state, said | late)


def _database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        logger.exception("The database does not answer.")
        return "does not answer"
    return FINE


_applied: set[str] = set()
"""Databases whose migrations were found applied: they stay so, and to look takes long."""


def _migrations() -> str:
    if connection.alias not in _applied:
        executor = MigrationExecutor(connection)
        if missing := executor.migration_plan(executor.loader.graph.leaf_nodes()):
            return f"{len(missing)} are not applied; run manage.py migrate"
        _applied.add(connection.alias)
    return FINE


def _record_key() -> str:
    """A process with another key would write entries that nobody could verify."""
    end = ChainEnd.objects.exclude(proof="").first()
    if end and proof_of_end(record_key(), end.chain, end.number, end.seal) != end.proof:
        return "RECORD_KEY is not the one with which the record was sealed"
    return FINE


def _broker() -> str:
    return FINE if broker_answers() else "does not answer; changes are checked later than they should be"


def _checks() -> str:
    scope, now = Scope.everything(), timezone.now()
    count = len(late_sites(scope, last_checked(scope, now), now))
    return FINE if not count else f"sites whose last check is too old: {count}; see the page Nights"
