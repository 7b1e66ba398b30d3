"""Have Celery log as the settings say, and the lines of a task carry its id."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any

from celery.signals import setup_logging, task_postrun, task_prerun

from compliance.operations.about import about

_under_way: dict[str, AbstractContextManager[None]] = {}


@setup_logging.connect(dispatch_uid="leave logging alone")
def leave_alone(**_: Any) -> None:
    """Say that logging is set up, by the settings: else Celery puts its own level in place of LOG_LEVEL."""


@task_prerun.connect(dispatch_uid="tell the task")
def begin(task_id: str, **_: Any) -> None:
    """Begin to tell the id; Celery calls this in the thread that runs the task."""
    _under_way[task_id] = telling = about(task=task_id)
    telling.__enter__()


@task_postrun.connect(dispatch_uid="tell the task")
def end(task_id: str, **_: Any) -> None:
    """Tell it no longer, also after a task that failed."""
    if telling := _under_way.pop(task_id, None):
        telling.__exit__(None, None, None)
