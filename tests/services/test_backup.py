"""Backups on the real databases: there and back, and what is refused: changed, of other keys, cut short, newer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.services.servers import Service

pytestmark = pytest.mark.services

FILL = """
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from menus.models import Site
from compliance.checks.run import check_site
from tests.cast import assemble
from tests.factories import LabelPhotoFactory
cast = assemble()
photo = ContentFile(b"a photo", name="photo.jpg")
LabelPhotoFactory(site=cast.ferrowick, label=cast.larder.bread.labels.get(), image=photo)
for site in Site.objects.all():
    check_site(site=site, trigger="hand")
"""
SEEN = """
import json
from datetime import timedelta
from django.utils import timezone
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.models import Run
from menus.models import LabelPhoto
from roster.models import Action, Child, Restriction
from roster.record.verify import faults
today = timezone.now().date()
rows = find_exceptions(None, ExceptionFilter(today - timedelta(days=2), today + timedelta(days=30)))
print(json.dumps({
    "exceptions": [[str(row.child), row.dish, row.outcome.code, row.main_reason.sentence] for row in rows],
    "runs": list(Run.objects.order_by("pk").values_list("pk", "result_hash")),
    "restrictions": Restriction.objects.count(),
    "photos": [photo.image.read().decode() for photo in LabelPhoto.objects.all()],
    "faults": [fault.what for fault in faults()],
}))
"""


def seen(service: Service) -> dict[str, object]:
    """What the pages would show, by the service itself."""
    told: dict[str, object] = json.loads(service.script(SEEN).splitlines()[-1])
    return told


def new_database(server: str, name: str) -> str:
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')  # type: ignore[call-overload]
    return urlsplit(server)._replace(path=f"/{name}").geturl()


class House:
    """A service with the cast in it, a backup of it, and another place with the same keys to restore to."""

    def __init__(self, kind: str, folder: Path, server: str) -> None:
        self.kind, self.folder, self.server, self.made = kind, folder, server, 0
        self.home = self.place("home")
        self.home.run("manage.py", "migrate", "--verbosity", "0")
        self.home.script(FILL)
        self.seen = seen(self.home)
        self.backup = folder / "backup.tar.gz"
        self.said = self.home.run("manage.py", "backup", str(self.backup))

    def place(self, name: str, **settings: str) -> Service:
        """An installation with nothing in it; the first one's keys, unless the settings name others."""
        self.made += 1
        data = self.folder / f"{name}-{self.made}"
        data.mkdir()
        if self.kind == "postgres":
            settings["DATABASE_URL"] = new_database(self.server, f"{self.folder.name}_{self.made}")
        if self.made > 1:
            for key in ("record-key", "file-key"):
                (data / key).write_text((self.home.data / key).read_text())
        return Service(data, **settings)


@pytest.fixture(scope="module", params=["sqlite", "postgres"])
def house(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    kind: str = request.param
    server = request.getfixturevalue("postgres") if kind == "postgres" else ""
    yield House(kind, tmp_path_factory.mktemp(f"backup{kind}"), server)


def refused(service: Service, *arguments: str) -> str:
    """What the command says when it ends with an error."""
    with pytest.raises(AssertionError) as told:
        service.run("manage.py", *arguments)
    return str(told.value)


def test_there_and_back(house: House) -> None:
    """Into an empty database: every exception, run and file is there, and the last checks come to the same."""
    assert house.seen["exceptions"] and house.seen["photos"] == ["a photo"]
    assert "was written and read back" in house.said and "kept files" in house.said
    assert house.backup.stat().st_mode & 0o777 == 0o600
    there = house.place("there")
    told = there.run("manage.py", "restore", str(house.backup))
    assert "Worked out again: the last check of 2 sites." in told
    assert "Whatever was recorded after" in told
    assert seen(there) == house.seen


def test_a_database_in_use_is_replaced_only_by_its_name(house: House) -> None:
    """Refused, it is as it was; named, all of it is that of the backup."""
    used = house.place("used")
    used.run("manage.py", "restore", str(house.backup))
    used.script("from tests.factories import SiteFactory; SiteFactory(code='later')")
    told = refused(used, "restore", str(house.backup))
    assert "is in use" in told and "--replace" in told
    assert used.script("from menus.models import Site; print(Site.objects.count())").split()[-1] == "3"
    name = told.split("--replace ")[1].split(". Nothing")[0]
    used.run("manage.py", "restore", str(house.backup), "--replace", name)
    assert seen(used) == house.seen


FULL = """
import resource, sys
from django.core.management import call_command
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
call_command("backup", sys.argv[1])
"""


def test_a_full_disk_leaves_no_half_file(house: House) -> None:
    """The kernel refuses to write more than so many bytes into one file."""
    target = house.folder / "full.tar.gz"
    with pytest.raises(AssertionError, match="othing was kept"):
        house.home.run("-c", f"import django; django.setup()\n{FULL}", str(target))
    assert {path.name for path in house.folder.iterdir() if not path.is_dir()} == {"backup.tar.gz"}
    assert not [path for path in house.folder.iterdir() if path.name.startswith(".")]


OLDER = """
from django.core.management import call_command
call_command("migrate", "sessions", "zero", verbosity=0)
"""


def test_an_older_backup_is_brought_up_to_date(house: House) -> None:
    """Of a database that lacks the newest migration of something."""
    old = house.place("old")
    old.run("manage.py", "restore", str(house.backup))
    old.script(OLDER)
    made = house.folder / "older.tar.gz"
    old.run("manage.py", "backup", str(made))
    there = house.place("newer")
    assert "into the form of this version" in there.run("manage.py", "restore", str(made))
    assert seen(there) == house.seen
    made.unlink()


def test_what_differs_afterwards_is_told(house: House) -> None:
    """A backup of a service whose record was tampered with, and whose file is gone: restored, and said."""
    bad = house.place("bad")
    bad.run("manage.py", "restore", str(house.backup))
    bad.script("from roster.models import Action; Action.objects.filter(number=2).update(subject='another')")
    for photo in (bad.data / "files").rglob("*.jpg"):
        photo.unlink()
    made = house.folder / "bad.tar.gz"
    bad.run("manage.py", "backup", str(made))
    with pytest.raises(AssertionError, match="things are not as they were"):
        house.place("there").run("manage.py", "restore", str(made))
    made.unlink()
