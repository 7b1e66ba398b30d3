"""Real servers for tests, out of wheels, and the service run beside them as its own processes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = {"DATABASE_URL", "CELERY_BROKER_URL", "DJANGO_ALLOW_ASYNC_UNSAFE"}


class Service:
    """One installation of the service: a data folder, and where its database and broker are."""

    def __init__(self, data: Path, **settings: str) -> None:
        self.data = data
        self.environment = {name: value for name, value in os.environ.items() if name not in LEFT_OUT}
        self.environment |= {"DJANGO_SETTINGS_MODULE": "compliance.config.settings", "DATA_DIR": str(data), **settings}

    def run(self, *arguments: str) -> str:
        """Run Python with these arguments to its end, and return what it printed."""
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def script(self, code: str) -> str:
        """Run code that may use the models, and return what it printed."""
        return self.run("-c", f"import django; django.setup()\n{code}")

    @contextmanager
    def celery(self, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
        """Run a Celery worker or beat while the block lasts, then end it by a signal to its master alone."""
        log = self.data / f"{arguments[0]}.log"
        with log.open("wb") as out:
            process = subprocess.Popen(
                [sys.executable, "-m", "celery", "--app", "compliance.config", *arguments],
                cwd=ROOT,
                env=self.environment,
                stdout=out,
                stderr=out,
            )
            try:
                yield process
                process.send_signal(signal.SIGTERM)
                assert process.wait(timeout=30) == 0, log.read_text()
            finally:
                if process.poll() is None:
                    process.kill()
                    process.wait()


def wait_for(ask: Callable[[], object], wanted: object, seconds: float = 60) -> None:
    """Ask until the wanted answer comes; fail with the last answer when it does not."""
    until = time.monotonic() + seconds
    while (answer := ask()) != wanted:
        assert time.monotonic() < until, f"still {answer!r}, not {wanted!r}"
        time.sleep(0.2)
