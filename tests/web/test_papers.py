"""Papers that cannot be handed out: a file that is gone, a key that is lost, and what the log says of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from cryptography.fernet import Fernet
from django.core.files.base import ContentFile
from django.urls import reverse

from roster.models import Statement
from tests.cast import Cast
from tests.factories import StatementFactory
from tests.web.pages import as_user

pytestmark = pytest.mark.django_db


def keep_in(folder: Path, settings: Any) -> None:
    """Keep files there, under a key that nobody else has."""
    options = {"keys": [Fernet.generate_key().decode()], "location": folder}
    sealed = {"BACKEND": "menus.sealed.SealedStorage", "OPTIONS": options}
    settings.STORAGES = settings.STORAGES | {"default": sealed}


@pytest.fixture
def statement(cast: Cast, settings: Any, tmp_path: Path) -> Statement:
    keep_in(tmp_path, settings)
    made: Statement = StatementFactory.build(child=cast.noor, received_by=cast.hakim, scan_type="application/pdf")
    made.scan.save("scan", ContentFile(b"%PDF-1.7"), save=False)
    made.save()
    return made


def refused(cast: Cast, statement: Statement) -> bool:
    address = reverse("statement-scan", args=[statement.pk])
    return as_user(cast.hakim).get(address).status_code == 404


def test_a_file_that_is_gone_is_told_and_logged(
    cast: Cast, statement: Statement, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """By number, and by no name."""
    (tmp_path / statement.scan.name).unlink()
    assert refused(cast, statement)
    assert f"The file of statement-{statement.pk} is missing." in caplog.messages
    assert "Noor" not in caplog.text


def test_a_lost_key_is_told_and_logged(
    cast: Cast, statement: Statement, tmp_path: Path, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    """It does not pass for an empty file."""
    keep_in(tmp_path, settings)
    assert refused(cast, statement)
    assert f"The file of statement-{statement.pk} cannot be opened: its key is missing." in caplog.messages
