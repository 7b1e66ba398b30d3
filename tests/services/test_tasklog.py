"""What a real worker logs with LOG_FORMAT=json: every line of a task carries the task's id."""

from __future__ import annotations

import json
from pathlib import Path

from tests.services.servers import Service, wait_for

SEND = """
from compliance.tasks import discard_unused_photos
print(discard_unused_photos.delay().id)
"""


def test_the_lines_of_a_task_carry_its_id(tmp_path: Path, valkey: str) -> None:
    """Ours and Celery's own; those of the worker itself carry none, and every line is an object."""
    service = Service(tmp_path, CELERY_BROKER_URL=valkey.replace("/0", "/8"), LOG_FORMAT="json", LOG_LEVEL="INFO")
    service.run("manage.py", "migrate", "-v", "0")
    log = tmp_path / "worker.log"
    with service.celery("worker", "--concurrency", "1", "--hostname", "worker@told"):
        task = service.script(SEND).strip().splitlines()[-1]
        wait_for(lambda: "unused photos were discarded" in log.read_text(), True)
        wait_for(lambda: "succeeded" in log.read_text(), True)
    lines = [json.loads(line) for line in log.read_text().splitlines() if line.startswith("{")]
    (ours,) = [line for line in lines if "unused photos" in line["message"]]
    assert ours["task"] == task and ours["logger"] == "compliance.tasks"
    assert [line for line in lines if "received" in line["message"] and "task" not in line]
