"""Whatever leaves the service as a file is on record, is harmless to a spreadsheet, and its name tells of nobody."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import time, timedelta
from pathlib import Path
from typing import Any

import pytest
import typst
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from compliance.reports.typeset import compiled
from menus.models import Product, Recipe
from roster.life.lunchbox import Packed, save_box
from roster.models import Action, Child, Classroom, User, Verb
from tests.attacks.conftest import insiders, signed_in
from tests.external.test_csv_injection import ROWS, signs
from tests.factories import PlanStepFactory
from tests.web.doors import World, knock

NOT_ON_RECORD = {
    "guardian-paper": "an empty form",
    "lunchbox-labels": "sheets without a label: nobody has a box in the week of the walk; see the test with one",
    "guardian-scan": "the paper that the guardian sent in, shown to the same guardian",
    "photo": "a picture of a package",
    "api-schema": "a description of the service",
}
"""Files whose handing out needs no entry, and why."""

HOSTILE = [signs(row["text"]) for row in ROWS if row["written"].startswith("'")]


def taken(world: World) -> dict[str, Any]:
    """Every address that hands out a file, with its answer and the verbs put on record by asking."""
    found: dict[str, Any] = {}
    for name, client in insiders(world):
        last = Action.objects.latest("pk").pk
        answer = knock(client, world, name)
        kind = answer.headers.get("Content-Type", "")
        if "Content-Disposition" in answer.headers or not kind.startswith(("text/html", "application/json")):
            verbs = set(Action.objects.filter(pk__gt=last).values_list("verb", flat=True))
            found[name] = answer, verbs
    return {name: each for name, each in found.items() if each[0].status_code == 200}


def test_every_file_is_on_record_and_named_after_nobody(world: World) -> None:
    """Exports as exports, papers of a child as read; a product's photo is neither."""
    files = taken(world)
    assert {"exceptions-export", "record-export", "statement-scan", "child-record"} <= files.keys()
    unrecorded = {name for name, (_, verbs) in files.items() if not verbs & {Verb.EXPORTED, Verb.READ}}
    assert unrecorded - NOT_ON_RECORD.keys() == set()
    names = "|".join(str(child).split()[0] for child in Child.objects.all())
    told = {name: answer.headers.get("Content-Disposition", "") for name, (answer, _) in files.items()}
    assert not {name: value for name, value in told.items() if re.search(names, value)}


def test_no_export_runs_what_somebody_typed(world: World) -> None:
    """The cases of OWASP's page on CSV injection as the names of everything, in every CSV and XLSX of the service."""
    tables: list[tuple[Any, str]] = [(Child, "given_name"), (Recipe, "name"), (Product, "name"), (User, "first_name")]
    for offset, (table, column) in enumerate([(Classroom, "name"), *tables]):
        for number, row in enumerate(table.objects.order_by("pk")):
            typed = HOSTILE[(offset + number) % len(HOSTILE)].strip()
            # Rooms of one school have names of their own.
            table.objects.filter(pk=row.pk).update(**{column: f"{typed}{number}" if table is Classroom else typed})
    seen = 0
    for name, (answer, _) in taken(world).items():
        kind = answer.headers["Content-Type"]
        if "csv" in kind:
            cells = [cell for row in csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))) for cell in row]
            assert not [cell for cell in cells if cell.strip()[:1] in ("=", "+", "-", "@")], name
            seen += 1
        elif "spreadsheet" in kind:
            book = load_workbook(io.BytesIO(answer.content))
            assert not [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
            seen += 1
    assert seen >= 2


def test_labels_of_boxes_are_on_record_for_each_child(world: World) -> None:
    """Of the child whose box it is, and of no other of the class."""
    cast, today = world.cast, timezone.localdate()
    day = today + timedelta(days=7 - today.weekday())
    save_box(child=cast.noor, day=day, items=[Packed("Rice", household="rice")], by=cast.hakim, replaces=None)
    asked = {"week": day.isoformat(), "class": cast.larks.pk}
    assert signed_in(cast.hakim).get(reverse("lunchbox-labels"), asked).status_code == 200
    entries = Action.objects.filter(verb=Verb.EXPORTED).exclude(child=None)
    assert [entry.child for entry in entries] == [cast.noor]


def test_a_cook_s_sheet_is_on_record(world: World) -> None:
    """Its door in the walk leads on, since it names no meal."""
    PlanStepFactory.create(surface=world.record.surface, at=time(8), recipe=world.cast.dishes.oat_bar)
    day = timezone.localdate().isoformat()
    answer = signed_in(world.cast.greta).get(reverse("order-sheet"), {"day": day, "meal": "lunch"})
    assert answer.headers["Content-Type"] == "application/pdf"
    entry = Action.objects.latest("pk")
    assert (entry.verb, entry.subject, entry.actor) == (Verb.EXPORTED, "cook's sheet", world.cast.greta)


@pytest.mark.parametrize("name", ["美咲", "Ольга", "عائشة", "＝1+1", "Zoë 🙂", "#let x = 1", "$x$ *b* @a"])
def test_a_sheet_is_printed_whatever_a_child_is_called(name: str, tmp_path: Path) -> None:
    """In any script, and with what the typesetter would take for a command, were it not data."""
    template = tmp_path / "sheet.typ"
    template.write_text(
        '#set document(title: "Sheet")\n#set text(lang: "en")\n#json(bytes(sys.inputs.sheet)).name\n', "utf-8"
    )
    assert compiled(template, sheet=json.dumps({"name": name})).startswith(b"%PDF")


def test_a_fault_of_a_template_is_not_covered_up(tmp_path: Path) -> None:
    """Only a sign that cannot be drawn is."""
    template = tmp_path / "sheet.typ"
    template.write_text("#unknown", "utf-8")
    with pytest.raises(typst.TypstError):
        compiled(template)


def test_every_view_that_writes_a_spreadsheet_is_tried() -> None:
    """A new kind of export needs a door in tests/web/doors.py, and `harmless` or `write_cell` for its cells."""
    root = Path(__file__).resolve().parents[2]
    writers = {
        path.name
        for path in (root / "compliance").rglob("*.py")
        if re.search(r"csv\.writer|Workbook\(", path.read_text())
    }
    assert writers <= {"exceptions_csv.py", "exceptions_xlsx.py", "record_file.py"}
