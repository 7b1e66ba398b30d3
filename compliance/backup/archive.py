"""The one file of a backup: a compressed tar, written beside its place and put there whole, or not at all."""

from __future__ import annotations

import hashlib
import os
import tarfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from io import BytesIO
from pathlib import Path
from typing import IO
from uuid import uuid4

from compliance.backup.errors import BackupFailed
from compliance.backup.manifest import NAME, Manifest, Member, read_manifest

OWNER_ONLY = 0o600
QUICK = 1  # zlib's level: kept files are encrypted and get no smaller, and the database is written once
AT_ONCE = 1 << 20
LONGEST_MANIFEST = 1 << 28


class Writer:
    """Takes members one after the other and remembers their digests."""

    def __init__(self, tar: tarfile.TarFile, moment: float) -> None:
        self._tar = tar
        self._moment = moment
        self.members: dict[str, Member] = {}

    def add(self, name: str, path: Path) -> None:
        """Add the file under that name. Raises OSError when it cannot be read, or the archive not be written."""
        with path.open("rb") as file:
            hashed = _Hashed(file)
            size = os.fstat(file.fileno()).st_size
            self._tar.addfile(_info(name, size, self._moment), hashed)
        self.members[name] = Member(size, hashed.digest.hexdigest())

    def close(self, manifest: Manifest) -> None:
        """Add the list of all members, the last of them."""
        data = manifest.written()
        self._tar.addfile(_info(NAME, len(data), self._moment), BytesIO(data))


class _Hashed:
    """A file that is hashed while it is read."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self.digest = hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        data = self._file.read(size)
        self.digest.update(data)
        return data


@contextmanager
def new_archive(path: Path, moment: float) -> Iterator[Writer]:
    """Write an archive that only its owner may read. It stands at `path` once the block has ended well.

    Raises BackupFailed when something is there already. Whatever else is raised, nothing is left behind.
    """
    if path.exists():
        raise BackupFailed(f"{path} exists already, and a backup never takes the place of another. Name a new file.")
    unfinished = path.with_name(f".{path.name}.{uuid4().hex}.unfinished")
    try:
        handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
        with os.fdopen(handle, "wb") as file:
            with tarfile.open(fileobj=file, mode="w:gz", compresslevel=QUICK, format=tarfile.PAX_FORMAT) as tar:
                yield Writer(tar, moment)
            file.flush()
            os.fsync(file.fileno())
        unfinished.rename(path)
        _sync_folder(path.parent)
    finally:
        with suppress(FileNotFoundError):
            unfinished.unlink()


def read_archive(path: Path, folder: Path | None = None) -> Manifest:
    """Read the whole archive, into the folder if there is one, and return its list.

    Raises BackupFailed unless every member is there as it was written, and nothing else is.
    """
    found: dict[str, Member] = {}
    data = b""
    try:
        with tarfile.open(path, "r:gz") as tar:
            for info in tar:
                file = tar.extractfile(info) if info.isreg() else None
                if file is None:
                    raise BackupFailed(f"{path} holds something that is no file. It is no backup of this service.")
                if info.name == NAME:
                    data = file.read(LONGEST_MANIFEST)
                else:
                    found[info.name] = _copied(file, folder / _within(info.name) if folder else None)
    except FileNotFoundError as error:
        raise BackupFailed(f"{path} is not there. Check the path.") from error
    except (tarfile.TarError, EOFError, zlib.error) as error:
        raise BackupFailed(f"{path} is damaged or cut off ({error}). Take another backup.") from error
    except OSError as error:
        raise BackupFailed(f"{path} could not be read or unpacked: {error.strerror or error}.") from error
    if not data:
        raise BackupFailed(f"{path} has no list of what is in it: it is cut off, or no backup of this service.")
    manifest = read_manifest(data)
    _compare(manifest, found)
    return manifest


def _compare(manifest: Manifest, found: dict[str, Member]) -> None:
    wrong = sorted(name for name in manifest.members.keys() | found if manifest.members.get(name) != found.get(name))
    if wrong:
        raise BackupFailed(
            f"The backup was changed or damaged after it was made: {len(wrong)} of {len(manifest.members)} files in it "
            "are not what they were. Do not use it; take another one."
        )


def _copied(file: IO[bytes], target: Path | None) -> Member:
    """Read the file to its end, into the target if there is one, and return its size and digest."""
    digest, size = hashlib.sha256(), 0
    if target:
        target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("xb") if target else nullcontext() as out:
        while part := file.read(AT_ONCE):
            digest.update(part)
            size += len(part)
            if out:
                out.write(part)
    return Member(size, digest.hexdigest())


def _within(name: str) -> Path:
    """The name as a path below a folder. Raises BackupFailed for one that leads out of it."""
    path = Path(name)
    if path.is_absolute() or ".." in path.parts or not path.parts:
        raise BackupFailed("The backup names a file outside its own folder. It was tampered with; do not use it.")
    return path


def _info(name: str, size: int, moment: float) -> tarfile.TarInfo:
    info = tarfile.TarInfo(name)
    info.size, info.mode, info.mtime = size, OWNER_ONLY, int(moment)
    return info


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
