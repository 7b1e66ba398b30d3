"""docker-compose.yml, read by Compose itself. No engine is needed to read it."""

from __future__ import annotations

import json
import os
import subprocess
import sysconfig
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMPOSE = Path(sysconfig.get_path("scripts")) / "docker-compose"
SECRETS = {
    "SECRET_KEY": "k",
    "POSTGRES_PASSWORD": "p",
    "ALLOWED_HOSTS": "menus.school.example",
    "SITE_ADDRESS": "https://menus.school.example",
}


def config(**environment: str) -> subprocess.CompletedProcess[str]:
    """Let Compose read the file with nothing but these variables set."""
    return subprocess.run(
        [str(COMPOSE), "--env-file", os.devnull, "config", "--format", "json"],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "HOME": os.environ.get("HOME", "/"), **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.fixture(scope="module")
def services() -> dict[str, Any]:
    """The services as Compose understands them."""
    done = config(**SECRETS)
    assert done.returncode == 0, done.stderr
    read: dict[str, Any] = json.loads(done.stdout)["services"]
    return read


def test_it_holds_the_five_services_each_with_a_health_check(services: dict[str, Any]) -> None:
    """Pages, worker, beat, database, broker."""
    assert set(services) == {"web", "worker", "beat", "postgres", "valkey"}
    assert all(service["healthcheck"]["test"] for service in services.values())


def test_what_must_last_is_on_volumes(services: dict[str, Any]) -> None:
    """The database and the queue outlive their containers."""
    assert [mount["type"] for name in ("postgres", "valkey") for mount in services[name]["volumes"]] == ["volume"] * 2


def test_pages_worker_and_beat_are_the_same_image_with_the_same_settings(services: dict[str, Any]) -> None:
    """One of them set differently would answer differently."""
    ours = [services[name] for name in ("web", "worker", "beat")]
    assert all(service["environment"] == ours[0]["environment"] for service in ours)
    assert all(service["build"] == ours[0]["build"] for service in ours)


@pytest.mark.parametrize("missing", SECRETS)
def test_no_secret_has_a_default(missing: str) -> None:
    """Without it nothing starts, and the message says what to set."""
    done = config(**{name: value for name, value in SECRETS.items() if name != missing})
    assert done.returncode != 0
    assert f"Set {missing} to" in done.stderr


def test_every_variable_given_is_one_that_the_settings_read(services: dict[str, Any]) -> None:
    """A misspelt variable would be ignored in silence."""
    read = (ROOT / "compliance/config/settings.py").read_text() + '"DATABASE_URL"'  # which dj_database_url reads
    assert [name for name in services["web"]["environment"] if f'"{name}"' not in read] == []


def test_the_image_copies_what_the_build_is_sent(services: dict[str, Any]) -> None:
    """Each COPY of the image is let through by .dockerignore, and is there."""
    sent = {line[1:] for line in (ROOT / ".dockerignore").read_text().splitlines() if line.startswith("!")}
    lines = services["web"]["build"]["dockerfile_inline"].splitlines()
    copied = {name for line in lines if line.startswith("COPY ") for name in line.split()[1:-1]}
    assert copied == sent
    assert all((ROOT / name).exists() for name in copied)
