"""Vendored scripts are the files that their list says."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from django.conf import settings

VENDOR = Path(settings.BASE_DIR) / "compliance" / "web" / "static" / "vendor"


def test_every_script_has_the_sum_and_the_licence_that_the_list_names() -> None:
    """A changed or unlisted script fails."""
    rows = re.findall(
        r"^\| (\S+\.js) .*?(\S+\.LICENSE\.txt).* \| ([0-9a-f]{64}) \|$", (VENDOR / "README.md").read_text(), re.M
    )
    assert {name for name, _, _ in rows} == {path.name for path in VENDOR.glob("*.js")}
    for name, licence, digest in rows:
        assert hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() == digest, name
        assert (VENDOR / licence.rstrip(",")).read_text().strip()
