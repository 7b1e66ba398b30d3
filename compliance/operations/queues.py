"""The queue between those who ask for work and those who do it."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings
from kombu import Connection
from kombu.exceptions import OperationalError

from compliance.config.celery import app

logger = logging.getLogger(__name__)

PATIENCE = 2
"""Seconds to wait for a broker before it counts as away: whoever asks how the service is must get an answer."""


def broker_answers() -> bool:
    """Tell whether the broker can be reached; in one process it is always there."""
    if settings.ONE_PROCESS:
        return True
    try:
        with _connection():
            return True
    except OperationalError as error:
        logger.warning("The broker does not answer: %s", error)
        return False


def queue_lengths() -> dict[str, int] | None:
    """Return how many messages wait in each queue, 0 in one process; None when the broker does not answer."""
    names = list(app.amqp.queues)
    if settings.ONE_PROCESS:
        return dict.fromkeys(names, 0)
    try:
        with _connection() as connection:
            return {name: _length(connection, name) for name in names}
    except OperationalError as error:
        logger.warning("The broker does not answer: %s", error)
        return None


@contextmanager
def _connection() -> Iterator[Connection]:
    with app.connection_for_read() as connection:
        connection.ensure_connection(max_retries=1, interval_start=0, timeout=PATIENCE)
        yield connection


def _length(connection: Connection, name: str) -> int:
    channel: Any = connection.channel()  # kombu declares less than every transport has
    try:
        return int(channel.queue_declare(queue=name, passive=True).message_count)
    except connection.channel_errors:
        return 0  # on Redis and Valkey an empty queue is none
    finally:
        channel.close()
