"""When a restore is refused, and what is proved after one."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.db import connection

from compliance.backup import restore as restoring
from compliance.backup.errors import RestoreRefused
from compliance.backup.keys import Fingerprints
from compliance.backup.manifest import Manifest
from compliance.backup.proof import files_that_lack, prove, rows_that_differ
from compliance.backup.restore import database_name, is_in_use
from compliance.checks.run import check_site
from compliance.models import Panel, Run
from menus.models import Site
from roster.models import Action
from tests.cast import Cast
from tests.factories import LabelPhotoFactory, SiteFactory, UserFactory

pytestmark = pytest.mark.django_db


def manifest(**said: Any) -> Manifest:
    usual: dict[str, Any] = {
        "made_at": datetime(2026, 11, 29, tzinfo=UTC),
        "version": "0.1.0",
        "engine": "sqlite",
        "server": "3.40.1",
        "migrations": (("menus", "0001_initial"), ("an_app_long_gone", "0001_initial")),
        "rows": {},
        "members": {},
        "keys": Fingerprints.taken(),
    }
    return Manifest(**usual | said)


def test_another_key_of_the_record_is_refused(settings: Any) -> None:
    here = manifest()
    restoring._refuse_other_keys(here)
    settings.RECORD_KEY = "another"
    with pytest.raises(RestoreRefused, match="another RECORD_KEY"):
        restoring._refuse_other_keys(here)


def test_a_key_of_the_files_that_is_missing_is_refused_and_one_more_is_not(settings: Any) -> None:
    settings.FILE_KEYS = ["newer", "older"]
    here = manifest()
    settings.FILE_KEYS = ["newest", "newer", "older"]
    restoring._refuse_other_keys(here)
    settings.FILE_KEYS = ["newest", "newer"]
    with pytest.raises(RestoreRefused, match="not among FILE_KEYS"):
        restoring._refuse_other_keys(here)


def test_another_kind_of_database_is_refused() -> None:
    restoring._refuse_other_engine(manifest(engine=connection.vendor))
    with pytest.raises(RestoreRefused, match="of PostgreSQL, and this service runs on SQLite"):
        restoring._refuse_other_engine(manifest(engine="postgresql"))


def test_one_of_a_newer_version_is_refused() -> None:
    restoring._refuse_newer(manifest())
    with pytest.raises(RestoreRefused, match="does not know menus 9999_to_come"):
        restoring._refuse_newer(manifest(migrations=(("menus", "9999_to_come"),)))


@pytest.mark.parametrize("made", [SiteFactory, UserFactory])
def test_a_database_in_use_is_replaced_only_by_its_name(made: Any) -> None:
    assert not is_in_use()
    restoring._refuse_to_replace("")
    made()
    for given in ("", "another"):
        with pytest.raises(RestoreRefused, match="is in use"):
            restoring._refuse_to_replace(given)
    restoring._refuse_to_replace(database_name())


def test_rows_that_lack_and_tables_that_are_not_there_are_told() -> None:
    SiteFactory()
    assert list(rows_that_differ({"menus_site": 1})) == []
    told = list(rows_that_differ({"menus_site": 2, "menus_nothing": 1}))
    assert told == [
        "The table menus_nothing is missing; it had 1 rows.",
        "The table menus_site has 1 rows; it had 2.",
    ]


def test_files_that_lack_are_told_without_their_names(tmp_path: Path) -> None:
    photo = LabelPhotoFactory(image=ContentFile(b"a photo", name="noors-lunch.jpg"))
    (told,) = list(files_that_lack(tmp_path))
    assert f"label photo {photo.pk} is missing" in told and "noor" not in told
    (tmp_path / photo.image.name).parent.mkdir(parents=True)
    (tmp_path / photo.image.name).write_bytes(b"x")
    assert list(files_that_lack(tmp_path)) == []


def test_a_whole_service_is_proved(cast: Cast) -> None:
    """The record of actions, and the last check of each site or of one."""
    for site in Site.objects.all():
        check_site(site=site, trigger="hand")
    every, one = prove(), prove("ferrowick")
    assert (every.wrong, every.compared, every.not_compared) == ([], 2, 0)
    assert (one.wrong, one.compared) == ([], 1)


def test_a_changed_record_and_another_result_are_told(cast: Cast) -> None:
    run = check_site(site=cast.ferrowick, trigger="hand")
    Run.objects.filter(pk=run.pk).update(result_hash="0" * 64)
    Action.objects.filter(chain=cast.ferrowick.pk, number=1).update(subject="something else")
    told = prove().wrong
    assert any(line.startswith("Record of actions, site") for line in told)
    assert any("comes to another result" in line for line in told)


def test_a_run_by_other_rules_is_not_compared(cast: Cast) -> None:
    """It cannot come to the same, and that is no fault of the backup."""
    check_site(site=cast.ferrowick, trigger="hand")
    Panel.objects.update(edition="of last year")
    proof = prove("ferrowick")
    assert (proof.wrong, proof.compared, proof.not_compared) == ([], 0, 1)
