"""Setting up on a bare machine: one sentence when it cannot be done, and nothing half made left behind.

That it does work from nothing is shown by .ci/run, which begins with it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from compliance import bootstrap

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout with what set-up reads, and no environment."""
    for name in ("manage.py", "compliance/__init__.py", "compliance/bootstrap.py", ".ci/requirements.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / name, tmp_path / name)
    return tmp_path


def run_bare(checkout: Path, *command: str) -> subprocess.CompletedProcess[str]:
    """Run manage.py by a Python that sees no installed package, on a machine without a network."""
    offline = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": "", "PIP_CONFIG_FILE": os.devnull}
    return subprocess.run(
        [sys.executable, "-S", "manage.py", *command],
        cwd=checkout,
        env=os.environ | offline,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_without_a_network_it_says_so_in_one_sentence(checkout: Path) -> None:
    """No traceback, exit code 1, and no `.venv` to confuse the next run."""
    done = run_bare(checkout, "demo")

    assert done.returncode == 1
    assert done.stderr.startswith("The packages could not be installed: ")
    assert done.stderr.endswith("Check the network and the free space on the disk, and run this again.\n")
    assert len(done.stderr.splitlines()) == 1
    assert "Installing the packages of .ci/requirements.txt" in done.stdout
    assert not (checkout / ".venv").exists()


def test_without_the_venv_module_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Debian ships Python without it."""
    monkeypatch.setattr(bootstrap, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "find_spec", lambda name: None)

    with pytest.raises(bootstrap.CannotSetUp, match="apt-get install python3-venv"):
        bootstrap.fill(bootstrap.LOCK)


def test_an_environment_with_django_is_taken_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is made or installed where Django can be imported."""
    monkeypatch.setattr(bootstrap, "fill", lambda lock: pytest.fail("it set up an environment"))

    bootstrap.ensure_environment(["manage.py", "demo"])
    bootstrap.ensure_environment(["manage.py", "test"])


def test_tests_in_somebodys_own_environment_without_pytest(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An environment that is not ours is not touched: one sentence says what to run."""
    monkeypatch.setattr(bootstrap, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "find_spec", lambda name: None if name == "pytest" else object())

    with pytest.raises(bootstrap.CannotSetUp, match=r"--require-hashes --no-deps -r \.ci/requirements-test\.txt"):
        bootstrap.ensure_environment(["manage.py", "test"])


def test_a_filled_environment_is_used_again_until_the_lock_changes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The stamp holds the hash of the lock: the same lock installs nothing, a changed one installs anew."""
    installed: list[str] = []
    monkeypatch.setattr(bootstrap, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "_install", lambda lock: installed.append(lock.read_text()))
    bootstrap._python().parent.mkdir(parents=True)
    bootstrap._python().touch()
    lock = tmp_path / "requirements.txt"

    for text in ("one==1", "one==1", "one==2"):
        lock.write_text(text)
        bootstrap.fill(lock)

    assert installed == ["one==1", "one==2"]


def test_an_environment_that_was_there_outlives_a_failed_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Only what this run made is taken away again; the stamp stays off, so the next run installs."""

    def fail(lock: Path) -> None:
        raise bootstrap.CannotSetUp("no network")

    monkeypatch.setattr(bootstrap, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "_install", fail)
    bootstrap._python().parent.mkdir(parents=True)
    bootstrap._python().touch()

    with pytest.raises(bootstrap.CannotSetUp):
        bootstrap.fill(bootstrap.LOCK)

    assert bootstrap._python().exists()
    assert not list((tmp_path / ".venv").glob("*.installed"))


def test_an_old_python_is_told_which_one_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before anything else is tried."""
    monkeypatch.setattr(bootstrap, "OLDEST", (99, 0))

    with pytest.raises(bootstrap.CannotSetUp, match=r"Python 3\.11 or newer"):
        bootstrap.ensure_environment(["manage.py", "demo"])
