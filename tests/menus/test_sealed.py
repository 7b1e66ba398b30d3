"""Files kept encrypted: read back with any of the keys, said to be lost with none, written anew with the first."""

from __future__ import annotations

from pathlib import Path

import pytest
from cryptography.fernet import Fernet
from django.core.exceptions import ImproperlyConfigured, SuspiciousFileOperation
from django.core.files.base import ContentFile

from menus.sealed import KeyLost, SealedStorage

OLD, NEW, OTHER = (Fernet.generate_key().decode() for _ in range(3))
WORDS = b"avoid peanut in every form"


def storage(folder: Path, *keys: str) -> SealedStorage:
    return SealedStorage(keys=list(keys), location=folder)


def kept(folder: Path, *keys: str) -> str:
    return storage(folder, *keys).save("statements/one.pdf", ContentFile(WORDS))


def test_a_file_reads_back_and_is_not_readable_on_the_disk(tmp_path: Path) -> None:
    """Nor is its content anywhere in the folder."""
    name = kept(tmp_path, NEW)
    with storage(tmp_path, NEW).open(name) as file:
        assert file.read() == WORDS
    assert storage(tmp_path, NEW).size(name) == len(WORDS)
    assert all(WORDS[:8] not in path.read_bytes() for path in tmp_path.rglob("*") if path.is_file())


def test_an_older_key_still_opens(tmp_path: Path) -> None:
    """The new key comes first, the old one stays until the files are written anew."""
    name = kept(tmp_path, OLD)
    with storage(tmp_path, NEW, OLD).open(name) as file:
        assert file.read() == WORDS


def test_without_its_key_a_file_is_said_to_be_lost_and_stays(tmp_path: Path) -> None:
    """Never an empty file in its place."""
    name = kept(tmp_path, OLD)
    before = (tmp_path / name).read_bytes()
    with pytest.raises(KeyLost, match="put the key that was used then back"):
        storage(tmp_path, OTHER).open(name)
    assert (tmp_path / name).read_bytes() == before


def test_a_file_changed_on_the_disk_is_not_opened(tmp_path: Path) -> None:
    """It is sealed as well as hidden."""
    name = kept(tmp_path, NEW)
    token = bytearray((tmp_path / name).read_bytes())
    token[40] ^= 1
    (tmp_path / name).write_bytes(bytes(token))
    with pytest.raises(KeyLost):
        storage(tmp_path, NEW).open(name)


def test_rotated_files_need_the_first_key_only(tmp_path: Path) -> None:
    """And keep their content and their rights."""
    name = kept(tmp_path, OLD)
    (tmp_path / name).chmod(0o600)
    assert storage(tmp_path, OLD).is_readable()
    assert storage(tmp_path, NEW, OLD).rotate() == 2
    with storage(tmp_path, NEW).open(name) as file:
        assert file.read() == WORDS
    assert (tmp_path / name).stat().st_mode & 0o777 == 0o600
    assert storage(tmp_path, NEW).is_readable()


def test_rotating_with_a_key_missing_changes_nothing_it_cannot_open(tmp_path: Path) -> None:
    """It says which file it is."""
    name = kept(tmp_path, OLD)
    before = (tmp_path / name).read_bytes()
    with pytest.raises(KeyLost, match=r"one\.pdf"):
        storage(tmp_path, NEW).rotate()
    assert (tmp_path / name).read_bytes() == before


class TestTheMark:
    """Whether the keys fit the folder is known before anybody asks for a file."""

    def test_a_new_folder_is_begun(self, tmp_path: Path) -> None:
        """With whatever keys there are."""
        assert storage(tmp_path, NEW).is_readable()
        assert storage(tmp_path, NEW).is_readable()

    def test_other_keys_do_not_fit(self, tmp_path: Path) -> None:
        """The key was lost or changed."""
        assert storage(tmp_path, OLD).is_readable()
        assert not storage(tmp_path, NEW).is_readable()

    def test_files_without_a_mark_are_doubted(self, tmp_path: Path) -> None:
        """Somebody took it out of the folder, or restored half of it."""
        kept(tmp_path, OLD)
        (tmp_path / ".key-check").unlink()
        assert not storage(tmp_path, OLD).is_readable()


def test_what_is_no_key_is_refused_at_start(tmp_path: Path) -> None:
    """With the command that makes one."""
    with pytest.raises(ImproperlyConfigured, match="make_file_key"):
        storage(tmp_path, "secret")


def test_a_name_cannot_leave_the_folder(tmp_path: Path) -> None:
    """As with any storage of Django."""
    with pytest.raises(SuspiciousFileOperation):
        storage(tmp_path, NEW).save("../outside.pdf", ContentFile(b"x"))
