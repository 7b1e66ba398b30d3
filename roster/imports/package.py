"""A OneRoster package: a manifest and the CSV files that it announces, as a zip, a folder or several uploads.

A file is announced as bulk (all there is) or delta (what changed since).
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from menus.imports.archive import open_archive, read_member
from menus.imports.csv_sheet import csv_records
from menus.imports.problem import Unreadable
from menus.imports.sheet import read_bytes

MANIFEST = "manifest.csv"
VERSIONS = ("1.1", "1.2")
ALWAYS_NEEDED = ("orgs", "classes", "users", "enrollments")
NEEDED = {"1.1": ALWAYS_NEEDED, "1.2": (*ALWAYS_NEEDED, "roles")}
USEFUL = ("academicSessions", "demographics")
GIVEN = ("bulk", "delta")
MODES = (*GIVEN, "absent")
LEFT_BY_MACS = "__MACOSX/"


@dataclass(frozen=True, slots=True)
class Package:
    """A package whose manifest holds good: which version, whose, and the bytes of the files that are read."""

    version: str
    source: str
    files: Mapping[str, bytes]  # by name without “.csv”; only those that are read
    deltas: frozenset[str] = frozenset()  # names of those that hold changes only

    @property
    def is_full(self) -> bool:
        """Whether it stands by itself: whoever is not in it is gone."""
        return not self.deltas


def from_upload(file: IO[bytes]) -> Package:
    """Read a package from a zip. Raises Unreadable."""
    with open_archive(read_bytes(file)) as archive:
        return checked(dict(_members(archive)))


def from_folder(folder: Path) -> Package:
    """Read a package from the CSV files of a folder. Raises Unreadable, or OSError when a file cannot be opened."""
    files: dict[str, bytes] = {}
    for path in sorted(folder.glob("*.csv")):
        with path.open("rb") as file:
            files[path.name] = read_bytes(file) if path.stat().st_size else b""
    return checked(files)


def checked(files: Mapping[str, bytes]) -> Package:
    """Hold the files against their manifest; never guess where the two disagree. Raises Unreadable."""
    if MANIFEST not in files:
        raise Unreadable(
            "The package has no manifest.csv, so nobody can tell what it holds.",
            "Export it again as OneRoster CSV, and keep all its files together.",
            file=MANIFEST,
        )
    told = _manifest(files[MANIFEST])
    version = told.get("oneroster.version", "")
    if version not in VERSIONS:
        raise Unreadable(
            f"The manifest gives version “{version[:20]}”; this service reads {' and '.join(VERSIONS)}.",
            "Export the package again in one of these versions.",
            file=MANIFEST,
            field="oneroster.version",
        )
    modes = {key.removeprefix("file."): value for key, value in told.items() if key.startswith("file.")}
    _refuse_disagreement(modes, files, NEEDED[version])
    source = told.get("source.systemCode") or told.get("source.systemName") or "oneroster"
    wanted = [name for name in (*NEEDED[version], *USEFUL) if modes.get(name) in GIVEN]
    deltas = frozenset(name for name in wanted if modes[name] == "delta")
    return Package(version, source[:40], {name: files[f"{name}.csv"] for name in wanted}, deltas)


def _members(archive: zipfile.ZipFile) -> Iterator[tuple[str, bytes]]:
    names = [name for name in archive.namelist() if not name.startswith(LEFT_BY_MACS) and not name.endswith("/")]
    if len(set(names)) < len(names):
        raise Unreadable("The zip holds two files of the same name.", "Export the package again.")
    folders = sorted({name.rpartition("/")[0] for name in names if name.endswith(".csv") and "/" in name})
    if folders:
        raise Unreadable(
            f"The files lie in a sub-folder of the zip, “{folders[0][:60]}”.",
            "Zip the files themselves, not the folder: manifest.csv stands at the top.",
        )
    for name in names:
        if name.endswith(".csv"):
            yield name, read_member(archive, name)


def _manifest(data: bytes) -> dict[str, str]:
    try:
        rows = [record.cells for record in csv_records(data) if any(record.cells)]
    except Unreadable as error:
        raise Unreadable(error.problem.what, error.problem.mend, row=error.problem.row, file=MANIFEST) from error
    if not rows or rows[0] != ["propertyName", "value"] or any(len(row) != 2 for row in rows):
        raise Unreadable(
            "The manifest is not a table of propertyName and value.",
            "Export the package again; do not edit manifest.csv in a spreadsheet.",
            row=1,
            file=MANIFEST,
        )
    return {row[0]: row[1] for row in rows[1:]}


def _refuse_disagreement(modes: Mapping[str, str], files: Mapping[str, bytes], needed: tuple[str, ...]) -> None:
    must_be_given = () if "delta" in modes.values() else needed  # changes stand beside what was given before
    for name in sorted({*modes, *needed, *(file.removesuffix(".csv") for file in files if file != MANIFEST)}):
        _refuse_file(name, modes.get(name), f"{name}.csv" in files, name in must_be_given)


def _refuse_file(name: str, mode: str | None, present: bool, needed: bool) -> None:
    field = f"file.{name}"
    if mode in GIVEN and not present:
        what = f"The manifest announces {name}.csv, and the package does not hold it."
    elif mode not in GIVEN and present:
        what = f"The package holds {name}.csv, and the manifest gives it as {mode or 'nothing'}."
    elif needed and not present:
        what = f"The package lacks {name}.csv, without which no class list can be made."
    elif mode is not None and mode not in MODES:
        what = f"The manifest gives “{mode[:20]}” for {name}.csv."
    else:
        return
    raise Unreadable(what, "Export the package again, complete.", file=MANIFEST, field=field)
