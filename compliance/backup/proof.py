"""Prove a restored service: every row and file is there, the record is whole, and checks come to the same again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from django.apps import apps
from django.db import connection, models

from compliance.checks.edition import edition
from compliance.checks.run import recompute
from compliance.models import Run
from menus.models import Site
from roster.record.verify import faults

Said = Callable[[str], None]


@dataclass(slots=True)
class Proof:
    """What was compared. `wrong` is empty where all of it is as it was."""

    wrong: list[str] = field(default_factory=list)
    entries: int = 0
    compared: int = 0  # runs worked out again
    not_compared: int = 0  # runs by other rules than these, which cannot come to the same


def rows_that_differ(rows: Mapping[str, int]) -> Iterator[str]:
    """Yield what is wrong with the number of rows, table by table."""
    with connection.cursor() as cursor:
        here = set(connection.introspection.table_names(cursor))
        for name, number in sorted(rows.items()):
            if name not in here:
                yield f"The table {name} is missing; it had {number:,} rows."
                continue
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")
            (found,) = cursor.fetchone()
            if found != number:
                yield f"The table {name} has {found:,} rows; it had {number:,}."


def files_that_lack(folder: Path) -> Iterator[str]:
    """Yield each kept file that a row names and that is not there, by table and number; names tell too much."""
    for table in apps.get_models():
        for column in table._meta.concrete_fields:
            if not isinstance(column, models.FileField):
                continue
            named = table._default_manager.exclude(**{column.name: ""}).order_by("pk")
            for pk, name in named.values_list("pk", column.name):
                if name and not (folder / name).is_file():
                    yield f"The {column.verbose_name} of {table._meta.verbose_name} {pk} is missing."


def prove(site: str = "", say: Said = lambda line: None) -> Proof:
    """Verify the record of actions, and work out the last check again, of that site (its code) or of every site."""
    proof = Proof()
    say("Verifying the record of actions …")
    for fault in faults():
        place = f"site {fault.chain}" if fault.chain else "no one site"
        proof.wrong.append(f"Record of actions, {place}, entry {fault.number}: {fault.what}")
    sites = Site.objects.filter(code=site) if site else Site.objects.all()
    for each in sites.order_by("pk"):
        run = Run.objects.newest_for(each)
        if run is None or not run.result_hash:
            continue
        if run.panel and run.panel.edition != edition():
            proof.not_compared += 1
            continue
        say(f"Working out the last check of {each} again …")
        proof.compared += 1
        if recompute(run) != run.result_hash:
            proof.wrong.append(f"Run {run.pk} of {each} comes to another result than it did. Check the site again.")
    return proof
