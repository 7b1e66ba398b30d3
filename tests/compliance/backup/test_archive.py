"""The one file of a backup: whole and its owner's alone, or not there; and whatever was changed in it is noticed."""

from __future__ import annotations

import gzip
import json
import tarfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from compliance.backup.archive import new_archive, read_archive
from compliance.backup.errors import BackupFailed
from compliance.backup.keys import Fingerprints
from compliance.backup.manifest import NAME, Manifest

MADE = datetime(2026, 11, 29, 2, 30, tzinfo=UTC)
CONTENT = {"database": b"rows and rows" * 1000, "files/photos/1.jpg": b"a photo", "files/.key-check": b""}


def made(folder: Path, **more: bytes) -> tuple[Path, Manifest]:
    """A backup of some files."""
    path = folder / "backup.tar.gz"
    with new_archive(path, MADE.timestamp()) as archive:
        for name, data in {**CONTENT, **more}.items():
            source = folder / "source"
            source.write_bytes(data)
            archive.add(name, source)
        manifest = Manifest(
            made_at=MADE,
            version="0.1.0",
            engine="sqlite",
            server="3.40.1",
            migrations=(("menus", "0001_initial"),),
            rows={"menus_site": 2},
            members=archive.members,
            keys=Fingerprints.taken(),
        )
        archive.close(manifest)
    source.unlink()
    return path, manifest


Members = dict[str, bytes]


def changed(path: Path, change: Callable[[Members], object]) -> None:
    """Write the backup anew, with its members changed."""
    with tarfile.open(path) as old:
        members = {info.name: file.read() for info in old if (file := old.extractfile(info))}
    change(members)
    with tarfile.open(path, "w:gz") as new:
        for name, data in members.items():
            info = tarfile.TarInfo(name)
            info.size = len(data)
            new.addfile(info, BytesIO(data))


def test_what_was_written_is_read_and_unpacked(tmp_path: Path) -> None:
    path, manifest = made(tmp_path)
    target = tmp_path / "unpacked"
    target.mkdir()
    assert read_archive(path) == read_archive(path, target) == manifest
    found = {file.relative_to(target).as_posix(): file.read_bytes() for file in target.rglob("*") if file.is_file()}
    assert found == CONTENT


def test_only_its_owner_may_read_it_and_nothing_lies_beside_it(tmp_path: Path) -> None:
    path, _ = made(tmp_path)
    assert path.stat().st_mode & 0o777 == 0o600
    assert list(tmp_path.iterdir()) == [path]


def test_no_key_is_in_it(tmp_path: Path, settings: Any) -> None:
    settings.RECORD_KEY, settings.FILE_KEYS = "the record's own key", ["a file's key", "an older one"]
    path, manifest = made(tmp_path)
    inside = gzip.decompress(path.read_bytes())
    assert not any(key.encode() in inside for key in (settings.RECORD_KEY, *settings.FILE_KEYS))
    assert len(manifest.keys.files) == 2 and len({manifest.keys.record, *manifest.keys.files}) == 3
    assert Fingerprints.taken(manifest.keys.salt) == manifest.keys != Fingerprints.taken()


def test_an_error_on_the_way_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "backup.tar.gz"
    (tmp_path / "source").write_bytes(b"x" * 100_000)
    with pytest.raises(OSError, match="No space left"), new_archive(path, 0) as archive:
        archive.add("database", tmp_path / "source")
        raise OSError(28, "No space left on device")
    assert [each.name for each in tmp_path.iterdir()] == ["source"]


def test_it_never_takes_the_place_of_another(tmp_path: Path) -> None:
    path, _ = made(tmp_path)
    before = path.read_bytes()
    with pytest.raises(BackupFailed, match="exists already"), new_archive(path, 0):
        pass
    assert path.read_bytes() == before


def _relist(members: Members, /, **said: Any) -> None:
    members[NAME] = json.dumps(json.loads(members[NAME]) | said).encode()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda members: members.update(database=b"rows and row" + b"x" * 988), "changed or damaged"),
        (lambda members: members.pop("files/photos/1.jpg"), "changed or damaged"),
        (lambda members: members.update({"files/more.jpg": b"x"}), "changed or damaged"),
        (lambda members: members.pop(NAME), "no list"),
        (lambda members: members.update({NAME: b"{}"}), "cannot be read"),
        (lambda members: members.update({NAME: b"no list"}), "cannot be read"),
        (lambda members: _relist(members, rows={"menus_site": 3}), "changed after it was made"),
        (lambda members: _relist(members, members={}), "changed after it was made"),
        (lambda members: _relist(members, form=2), "of form 2"),
    ],
)
def test_whatever_was_changed_is_refused(tmp_path: Path, change: Callable[[Members], object], told: str) -> None:
    path, _ = made(tmp_path)
    changed(path, change)
    with pytest.raises(BackupFailed, match=told):
        read_archive(path)


@pytest.mark.parametrize("name", ["../escaped", "files/../../escaped", "/tmp/escaped"])
def test_a_name_that_leads_out_of_the_folder_is_refused(tmp_path: Path, name: str) -> None:
    path, _ = made(tmp_path)
    changed(path, lambda members: members.update({name: b"x"}))
    target = tmp_path / "deep" / "unpacked"
    target.mkdir(parents=True)
    with pytest.raises(BackupFailed, match="outside its own folder"):
        read_archive(path, target)
    assert not list(tmp_path.rglob("escaped"))


def test_a_link_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "links.tar.gz"
    with tarfile.open(path, "w:gz") as tar:
        info = tarfile.TarInfo("files/link")
        info.type, info.linkname = tarfile.SYMTYPE, "/etc/hostname"
        tar.addfile(info)
    with pytest.raises(BackupFailed, match="no file"):
        read_archive(path, tmp_path)


@pytest.mark.parametrize("left", [0.1, 0.5, 0.95])
def test_one_that_is_cut_off_is_refused(tmp_path: Path, left: float) -> None:
    path, _ = made(tmp_path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * left)])
    with pytest.raises(BackupFailed, match="damaged or cut off"):
        read_archive(path)


def test_what_is_no_backup_is_told_so(tmp_path: Path) -> None:
    (tmp_path / "letter").write_text("Dear all,")
    with pytest.raises(BackupFailed, match="damaged or cut off"):
        read_archive(tmp_path / "letter")
    with pytest.raises(BackupFailed, match="is not there"):
        read_archive(tmp_path / "nothing")


def test_under_another_key_the_list_is_read_and_the_fingerprint_differs(tmp_path: Path, settings: Any) -> None:
    """So that the one who restores is told which key is wanted, not that somebody tampered with it."""
    path, manifest = made(tmp_path)
    settings.RECORD_KEY = "another"
    read = read_archive(path)
    assert replace(read, members={}) == replace(manifest, members={})
    assert read.keys.record != Fingerprints.taken(read.keys.salt).record
