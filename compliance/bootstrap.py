"""Make the environment that the service runs in, on a machine with nothing but Python. Standard library only.

Works from `.venv` beside manage.py. A stamp in it names the lock it was filled from: a changed lock is installed anew,
and an environment whose filling was broken off has no stamp and is filled again.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
LOCK = ROOT / ".ci" / "requirements.txt"
TEST_LOCK = ROOT / ".ci" / "requirements-test.txt"
OLDEST = (3, 11)


class CannotSetUp(Exception):
    """The environment cannot be made here. The message says what to do."""


def ensure_environment(argv: list[str]) -> None:
    """Return when this Python has what the command needs; else fill `.venv` and go on inside it, not returning."""
    if sys.version_info < OLDEST:
        raise CannotSetUp(f"This needs Python 3.11 or newer and runs on {sys.version.split()[0]}. Use a newer python3.")
    testing = argv[1:2] == ["test"]
    inside = Path(sys.prefix) == ENVIRONMENT
    if find_spec("django"):
        if not testing or find_spec("pytest"):
            return
        if not inside:
            raise CannotSetUp(f"pytest is missing from this environment: {_pip_line(TEST_LOCK)} and run this again.")
    fill(TEST_LOCK if testing else LOCK)
    _go_on_inside(argv)


def fill(lock: Path) -> None:
    """Make `.venv` if it is not there and install the lock into it, unless its stamp says that this was done."""
    stamp = ENVIRONMENT / f"{lock.stem}.installed"
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    if _python().exists() and stamp.exists() and stamp.read_text() == wanted:
        return
    fresh = not _python().exists()
    try:
        if fresh:
            _make()
        _install(lock)
        stamp.write_text(wanted)
    except BaseException:
        if fresh:
            shutil.rmtree(ENVIRONMENT, ignore_errors=True)
        raise


def _make() -> None:
    if not (find_spec("venv") and find_spec("ensurepip")):
        raise CannotSetUp(
            "Python's venv module is missing. Install it (Debian, Ubuntu: apt-get install python3-venv) "
            "and run this again."
        )
    print("Making an environment in .venv, beside manage.py.", flush=True)
    made = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", str(ENVIRONMENT)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        raise CannotSetUp(f"The environment .venv could not be made: {_last(made)} Mend that and run this again.")


def _install(lock: Path) -> None:
    print(f"Installing the packages of .ci/{lock.name} into it, each checked against its hash. Once only.", flush=True)
    command = [str(_python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    done = subprocess.run(
        [*command, "--retries", "2", "--require-hashes", "--no-deps", "-r", str(lock)],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise CannotSetUp(
            f"The packages could not be installed: {_last(done)} "
            "Check the network and the free space on the disk, and run this again."
        )


def _last(done: subprocess.CompletedProcess[str]) -> str:
    """Return the last error that the tool spoke of, as the end of a sentence."""
    lines = [line.strip() for line in (done.stderr or done.stdout).splitlines() if line.strip()]
    errors = [line.removeprefix("ERROR: ") for line in lines if line.startswith("ERROR: ")]
    return (errors or lines or [f"exit code {done.returncode}"])[-1].rstrip(".") + "."


def _python() -> Path:
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _pip_line(lock: Path) -> str:
    return f"run {sys.executable} -m pip install --require-hashes --no-deps -r .ci/{lock.name}"


def _go_on_inside(argv: list[str]) -> None:
    command = [str(_python()), *argv]
    if os.name == "nt":  # where exec would let the shell prompt come back before the end
        sys.exit(subprocess.run(command, check=False).returncode)
    os.execv(command[0], command)
