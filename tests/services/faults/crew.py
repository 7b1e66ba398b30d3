"""The service's processes beside the test: workers, beats and pages that may be killed at any moment."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.services.servers import ROOT, Service

CELERY = ("-m", "celery", "--app", "compliance.config")


class Process:
    """One process with its children, in a group of their own so that all of them can be killed at once."""

    def __init__(self, service: Service, name: str, command: Sequence[str]) -> None:
        self._log = service.data / f"{name}.log"
        with self._log.open("ab") as out:
            self._process = subprocess.Popen(
                [sys.executable, *command],
                cwd=ROOT,
                env=service.environment,
                stdout=out,
                stderr=out,
                start_new_session=True,
            )

    @property
    def log(self) -> str:
        """What it has said."""
        return self._log.read_text(errors="replace")

    def said(self, what: str, seconds: float = 60) -> None:
        """Return once it has said so; fail with all it has said when it does not."""
        until = time.monotonic() + seconds
        while what not in self.log:
            assert self._process.poll() is None and time.monotonic() < until, self.log
            time.sleep(0.1)

    def children(self) -> list[int]:
        """The ids of the processes that it started itself."""
        number = self._process.pid
        return [int(each) for each in Path(f"/proc/{number}/task/{number}/children").read_text().split()]

    def kill(self) -> None:
        """End it and its children as SIGKILL does, as when a machine goes dark. Harmless once it has ended."""
        if self._process.poll() is None:
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()

    def kill_children(self) -> None:
        """End its children alone, as the kernel does when memory runs out."""
        for number in self.children():
            os.kill(number, signal.SIGKILL)

    def ask_to_stop(self) -> None:
        """Send SIGTERM to the master alone, as a service manager does."""
        self._process.send_signal(signal.SIGTERM)

    def ended(self, seconds: float = 30) -> int:
        """Wait for its end and return its exit status."""
        return self._process.wait(timeout=seconds)


class Crew:
    """Starts the processes of one service, and ends all of them with the block."""

    def __init__(self, service: Service, stack: ExitStack) -> None:
        self.service = service
        self._stack = stack

    def worker(self, name: str = "worker", concurrency: int = 1) -> Process:
        """Start a worker, and return at once."""
        named = ("--hostname", f"{name}@faults", "--concurrency", str(concurrency))
        return self._start(name, "worker", *named, "--without-mingle", "--without-gossip")  # they take a second

    def beat(self, name: str = "beat") -> Process:
        """Start a beat, and return at once."""
        return self._start(name, "beat")

    def pages(self, port: int) -> Process:
        """Start the pages on that port of this machine, and return at once."""
        listen = ("-m", "waitress", f"--listen=127.0.0.1:{port}", "--threads=8", "compliance.config.wsgi:application")
        return self._run("pages", listen)

    def _start(self, name: str, *arguments: str) -> Process:
        return self._run(name, (*CELERY, *arguments, "--loglevel", "INFO"))

    def _run(self, name: str, command: Sequence[str]) -> Process:
        found = Process(self.service, name, command)
        self._stack.callback(found.kill)
        return found


@contextmanager
def crew(service: Service) -> Iterator[Crew]:
    """Whoever works for the service while the block lasts. All of them are killed at its end."""
    with ExitStack() as stack:
        yield Crew(service, stack)
