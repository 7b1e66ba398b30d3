"""What a backup says of itself: when, of which version, how many rows, which files, under which keys."""

from __future__ import annotations

import hmac
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from compliance.backup.errors import BackupFailed
from compliance.backup.keys import Fingerprints, sealed

FORM = 1
"""Of this list. A newer one is refused by an older service."""

NAME = "manifest.json"


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the archive."""

    bytes: int
    sha256: str  # hexadecimal


@dataclass(frozen=True, slots=True)
class Manifest:
    """All of it, as of one moment of the database."""

    made_at: datetime
    version: str  # of the service
    engine: str  # "sqlite" or "postgresql"
    server: str  # version of the database, such as 3.40.1
    migrations: tuple[tuple[str, str], ...]  # app and name
    rows: Mapping[str, int]  # by table
    members: Mapping[str, Member]  # by name in the archive, without the list itself
    keys: Fingerprints

    def written(self) -> bytes:
        """Return it as it is stored: JSON, sealed under the key of the record."""
        said = json.loads(json.dumps(asdict(self), default=str)) | {"form": FORM}
        return json.dumps(said | {"seal": sealed(said)}, indent=1, sort_keys=True).encode()


def read_manifest(data: bytes) -> Manifest:
    """Return what was written. Raises BackupFailed for what is none, or was changed since.

    Under another key the seal says nothing; the fingerprints tell that it is another key.
    """
    try:
        said = json.loads(data)
        form, seal = said["form"], said.pop("seal")
        if form != FORM:
            raise BackupFailed(f"The backup is of form {form}; this version of the service reads form {FORM}.")
        manifest = _read(said)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise BackupFailed(f"The list in the backup cannot be read ({error!r}). Take another backup.") from error
    if _is_ours(manifest) and not hmac.compare_digest(seal, sealed(said)):
        raise BackupFailed("The list in the backup was changed after it was made. Do not use it; take another one.")
    return manifest


def _is_ours(manifest: Manifest) -> bool:
    return Fingerprints.taken(manifest.keys.salt).record == manifest.keys.record


def _read(said: dict[str, Any]) -> Manifest:
    return Manifest(
        made_at=datetime.fromisoformat(said["made_at"]),
        version=said["version"],
        engine=said["engine"],
        server=said["server"],
        migrations=tuple((app, name) for app, name in said["migrations"]),
        rows=dict(said["rows"]),
        members={name: Member(**member) for name, member in said["members"].items()},
        keys=Fingerprints(said["keys"]["salt"], said["keys"]["record"], tuple(said["keys"]["files"])),
    )
