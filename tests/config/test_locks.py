"""The locks fit pyproject.toml, are hashed, and name no place that a package came from."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
RUN, OCR, TEST = (ROOT / f".ci/requirements{extra}.txt" for extra in ("", "-ocr", "-test"))
EXTRAS = PROJECT["optional-dependencies"]
WANTED = [
    *((RUN, wanted) for wanted in PROJECT["dependencies"]),
    *((OCR, wanted) for wanted in PROJECT["dependencies"] + EXTRAS["ocr"]),
    *((TEST, wanted) for wanted in PROJECT["dependencies"] + EXTRAS["ocr"] + EXTRAS["test"]),
]


def pins(lock: Path) -> dict[str, str]:
    """Return the version that the lock names for each package."""
    return dict(re.findall(r"^([a-z0-9-]+)==(\S+)", lock.read_text(), re.MULTILINE))


@pytest.mark.parametrize(("lock", "wanted"), WANTED, ids=lambda value: getattr(value, "name", value))
def test_every_dependency_is_pinned_to_a_version_that_fits(lock: Path, wanted: str) -> None:
    """What pyproject.toml asks for is in the lock, at a version that it allows."""
    requirement = Requirement(wanted)
    pinned = pins(lock).get(canonicalize_name(requirement.name))
    assert pinned, f"{wanted} is not in {lock.name}. Make the lock anew (DEVELOPERS.md, Dependencies)."
    assert requirement.specifier.contains(pinned), f"{lock.name} pins {pinned}, and pyproject.toml wants {wanted}."


def test_the_locks_pin_the_same_versions() -> None:
    """What is tested is what is served."""
    assert pins(RUN).items() <= pins(OCR).items() <= pins(TEST).items()


@pytest.mark.parametrize("lock", [RUN, OCR, TEST], ids=lambda lock: lock.name)
def test_a_lock_holds_pins_and_hashes_only(lock: Path) -> None:
    """No index, no address, no comment, no path: nothing but packages and their hashes."""
    pin = re.compile(r"[a-z0-9-]+==\S+( ; [^\\]+)? \\")
    digest = re.compile(r"    --hash=sha256:[0-9a-f]{64}( \\)?")
    odd = [line for line in lock.read_text().splitlines() if not (pin.fullmatch(line) or digest.fullmatch(line))]
    assert odd == []
