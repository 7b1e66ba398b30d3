"""One stage of a benchmark in a process of its own, so that what one takes up is not counted for another.

    DATABASE_URL=… python -m compliance.benchmarks.stage NAME JSON

Prints what the stage returns as JSON on its last line.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from typing import Any

from compliance.benchmarks.problem import CannotMeasure

SETTINGS = "compliance.config.settings"


class StageFailed(CannotMeasure):
    """A stage came to no result; what it said stands in the message."""


def run_stage(name: str, database: str, broker: str = "", **asked: Any) -> Any:
    """Run the stage on that database in a process of its own and return what it says. Raises StageFailed.

    Without a broker, what is queued meanwhile waits for nobody.
    """
    command = [sys.executable, "-m", "compliance.benchmarks.stage", name, json.dumps(asked)]
    done = subprocess.run(command, env=surroundings(database, broker), capture_output=True, text=True, check=False)
    if done.returncode:
        said = [line for line in done.stderr.splitlines() if line.strip()]
        raise StageFailed(said[-1] if said else f"The stage {name} ended with exit code {done.returncode}.")
    return json.loads(done.stdout.splitlines()[-1])


def surroundings(database: str, broker: str = "") -> dict[str, str]:
    """Return the environment of a process that is to work on that database, with that broker."""
    found = os.environ | {"DATABASE_URL": database, "CELERY_BROKER_URL": broker or "memory://localhost"}
    found.setdefault("DJANGO_SETTINGS_MODULE", SETTINGS)
    return found


def _world(children: int, dishes: int = 1) -> dict[str, Any]:
    from django.core.management import call_command

    from compliance.benchmarks.world.load import load_world
    from compliance.benchmarks.world.size import Size

    call_command("migrate", verbosity=0, run_syncdb=True)
    return load_world(Size(children, dishes))


def _nightly(most_sites: int | None) -> dict[str, Any]:
    from compliance.benchmarks.nightly import nightly

    return nightly(most_sites)


def _change(most_sites: int | None) -> dict[str, Any]:
    from compliance.benchmarks.change import change

    return change(most_sites)


def _treat(times: int) -> dict[str, Any]:
    from django.core.management import call_command

    from compliance.benchmarks.treat import treat

    call_command("migrate", verbosity=0, run_syncdb=True)
    return treat(times)


def _workers(most_sites: int | None) -> dict[str, Any]:
    from compliance.benchmarks.queued import queued

    return queued(most_sites)


STAGES: dict[str, Callable[..., Any]] = {
    "world": _world,
    "nightly": _nightly,
    "change": _change,
    "treat": _treat,
    "workers": _workers,
}


def main() -> None:
    """Run the stage that the command line names."""
    import django

    django.setup()
    _, name, asked = sys.argv
    try:
        print(json.dumps(STAGES[name](**json.loads(asked))))
    except CannotMeasure as problem:
        sys.exit(str(problem))


if __name__ == "__main__":
    main()
