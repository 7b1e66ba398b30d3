"""`manage.py serve` as it runs: pages, worker and beat in one process, started and stopped from outside."""

from __future__ import annotations

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def environment(data: Path, **more: str) -> dict[str, str]:
    """A machine of its own: nothing set but where its data is."""
    left_out = {"DATABASE_URL", "CELERY_BROKER_URL", "DJANGO_SETTINGS_MODULE", "DJANGO_ALLOW_ASYNC_UNSAFE"}
    return {name: value for name, value in os.environ.items() if name not in left_out} | {
        "DATA_DIR": str(data),
        "PYTHONWARNINGS": "default",
        **more,
    }


def manage(data: Path, *command: str) -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment(data),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@contextmanager
def serving(data: Path, port: int, **more: str) -> Iterator[subprocess.Popen[str]]:
    """Run the service while the block lasts, once it answers."""
    process = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--port", str(port)],
        cwd=ROOT,
        env=environment(data, **more),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        wait_until(lambda: answers(port), process)
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def answers(port: int) -> bool:
    """Tell whether the service answers there."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=5) as response:
            return bool(response.status == 200)
    except OSError:
        return False


def wait_until(happened: Callable[[], bool], process: subprocess.Popen[str], seconds: float = 60) -> None:
    """Wait for something to happen; fail when it does not, or when the process ends before."""
    until = time.monotonic() + seconds
    while not happened():
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < until, "it did not happen in time"
        time.sleep(0.1)


def query(data: Path, sql: str) -> list[tuple[object, ...]]:
    """Ask the service's database."""
    with closing(sqlite3.connect(data / "service.sqlite3", timeout=30)) as database:
        return database.execute(sql).fetchall()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_serves_until_it_is_told_to_stop(tmp_path: Path, number: signal.Signals) -> None:
    """From an empty folder to pages; the signal ends all of it, with exit code 0 and nothing left to complain of."""
    port = free_port()
    with serving(tmp_path, port) as process:
        process.send_signal(number)
        out, err = process.communicate(timeout=60)

    assert process.returncode == 0, err
    assert "There is no administrator yet." in out
    assert "invite NAME --email ADDRESS --role administrator" in out
    assert f"Serving at http://127.0.0.1:{port}." in out
    assert "Traceback" not in err
    assert "ResourceWarning" not in err


def test_the_first_start_has_the_database_refuse_edits_of_the_record(tmp_path: Path) -> None:
    """Nobody need know of the command; what a migration took away comes back at the next start."""
    assert manage(tmp_path, "migrate", "-v", "0").returncode == 0
    person = ("invite", "ada", "--email", "ada@school.example", "--role", "administrator")
    assert manage(tmp_path, *person).returncode == 0
    for _ in range(2):
        with serving(tmp_path, free_port()), pytest.raises(sqlite3.IntegrityError, match="is never deleted"):
            query(tmp_path, "DELETE FROM roster_action")
        assert query(tmp_path, "SELECT count(*) > 0 FROM roster_action") == [(1,)]
        query(tmp_path, "DROP TRIGGER record_action_delete")


def test_a_night_that_was_missed_is_caught_up_at_the_start(tmp_path: Path) -> None:
    """The site's check was due while nothing ran: beat notices, and the worker beside it does it."""
    assert manage(tmp_path, "migrate", "-v", "0").returncode == 0
    made = manage(tmp_path, "shell", "-v", "0", "-c", "Site.objects.create(code='elm', name='Elm Street')")
    assert made.returncode == 0, made.stderr

    with serving(tmp_path, free_port()) as process:
        wait_until(lambda: bool(query(tmp_path, "SELECT * FROM compliance_night WHERE state = 'complete'")), process)

    assert query(tmp_path, "SELECT trigger, state FROM compliance_run") == [("night", "complete")]
    assert query(tmp_path, "SELECT state, attempts FROM compliance_nightslice") == [("done", 1)]


def test_a_port_in_use_is_said_before_anything_is_done(tmp_path: Path) -> None:
    """One sentence with a way on; no traceback, and no database made."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = manage(tmp_path, "serve", "--port", str(port))

    assert done.returncode == 1
    assert f"Port {port} is in use" in done.stderr
    assert f"--port {port + 1}" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "service.sqlite3").exists()


def test_behind_a_proxy_that_speaks_https(tmp_path: Path) -> None:
    """Who came by HTTPS gets the page; who came by HTTP is sent there."""
    port = free_port()
    with serving(tmp_path, port, BEHIND_HTTPS="1"):
        assert status(port, "https") == 200
        assert status(port, "http") == 301


class Still(urllib.request.HTTPRedirectHandler):
    """Follow no redirect."""

    def redirect_request(self, *args: object) -> None:
        return None


def status(port: int, scheme: str) -> int:
    """Return how the sign-in page answers somebody whom the proxy says came by that scheme."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/sign-in/", headers={"X-Forwarded-Proto": scheme, "Host": "localhost"}
    )
    try:
        with urllib.request.build_opener(Still).open(request, timeout=10) as response:
            return int(response.status)
    except urllib.error.HTTPError as error:
        error.close()
        return error.code
