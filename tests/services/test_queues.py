"""The queue on a real Valkey: how long it is, and that it is told when it is away."""

from __future__ import annotations

from pathlib import Path

from tests.services.servers import Service

LENGTHS = """
from compliance.operations.queues import broker_answers, queue_lengths
print(broker_answers(), queue_lengths())
"""
SEND = """
from compliance.tasks import discard_unused_photos
for _ in range(3):
    discard_unused_photos.delay()
"""


def test_messages_that_no_worker_has_taken_are_counted(tmp_path: Path, valkey: str) -> None:
    """None in a queue that was never used, and as many as were sent."""
    address = valkey.replace("/0", "/7")  # a database of its own, beside what other tests leave in theirs
    service = Service(tmp_path, CELERY_BROKER_URL=address)
    assert service.script(LENGTHS) == "True {'celery': 0, 'nights': 0}\n"
    service.script(SEND)
    assert service.script(LENGTHS) == "True {'celery': 3, 'nights': 0}\n"


def test_a_broker_that_is_away_is_told_within_seconds(tmp_path: Path) -> None:
    """Where nobody listens; nothing hangs, and the address is in no answer."""
    service = Service(tmp_path, CELERY_BROKER_URL="redis://127.0.0.1:1/0")
    assert service.script(LENGTHS) == "False None\n"
