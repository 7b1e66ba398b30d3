"""The sheets for when nothing else works: of a room and of a child."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.reports.roomsheet import RoomSheet, SheetChild, roomsheet_pdf, sheet_data
from compliance.web import sheets
from menus.models.site import Jurisdiction
from roster.emergency.numbers import number_in
from roster.enrolling import enrol
from roster.models import Action, Restriction, Verb
from tests.cast import Cast
from tests.factories import ChildFactory, EmergencyPlanFactory, SiteFactory
from tests.web.pages import as_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def printed(monkeypatch: pytest.MonkeyPatch) -> list[RoomSheet]:
    """What the pages hand to the printer."""
    made: list[RoomSheet] = []

    def keep(sheet: RoomSheet) -> bytes:
        made.append(sheet)
        return roomsheet_pdf(sheet)

    monkeypatch.setattr(sheets, "roomsheet_pdf", keep)
    return made


def of_room(cast: Cast, who: str = "rosa"):
    return as_user(getattr(cast, who)).get(reverse("room-sheet"), {"class": cast.larks.pk})


def test_the_room_sheet_says_what_to_keep_away_and_where_the_papers_are(cast: Cast, printed: list[RoomSheet]) -> None:
    """S90, S22. With its moment and when to destroy it; children with nothing on record are counted, not named."""
    EmergencyPlanFactory(child=cast.mateo, carried=True)
    answer = of_room(cast, "sefa")
    assert answer.headers["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    data = sheet_data(printed[0])
    rows = {row["name"]: row for row in data["rows"]}
    mateo = rows["Mateo Example"]
    assert mateo["away"] == ["peanut, traces too"] and mateo["plan"] == "Red binder, front office"
    assert mateo["kept"] == "Cabinet by the sink; the child carries it"
    assert rows["Kofi Example"]["away"] == ["egg, traces too", "sesame, traces too"]
    assert rows["Kofi Example"]["plan"] == "No plan on record" and "Bao Example" not in rows
    assert (
        data["others"].startswith("1 more child of this class has nothing") and "That is no promise" in data["others"]
    )
    assert "As of" in data["valid"] and "Destroy it when a newer one is printed" in data["destroy"]
    assert data["call"] == "Call 911"


def test_no_condition_stands_on_it_unless_the_site_says_so(cast: Cast, printed: list[RoomSheet]) -> None:
    """FERPA and CDC frame (read): tell a class about food, not diagnosis."""
    Restriction.objects.filter(child=cast.noor).update(kind="coeliac-disease")
    of_room(cast)
    assert "oeliac" not in str(sheet_data(printed[0]))
    cast.ferrowick.names_conditions = True
    cast.ferrowick.save()
    of_room(cast)
    noor = next(row for row in sheet_data(printed[1])["rows"] if row["name"] == "Noor Example")
    assert noor["conditions"] == ["Coeliac disease"]


def test_two_of_the_same_name_are_told_apart(cast: Cast, printed: list[RoomSheet]) -> None:
    """S80: on the sheet of the room and on the child's own."""
    twin = ChildFactory(given_name="Kofi", birth_date=cast.kofi.birth_date + timedelta(days=40))
    enrol(child=twin, classroom=cast.larks, starts_on=timezone.localdate())
    EmergencyPlanFactory(child=twin)
    of_room(cast)
    as_user(cast.rosa).get(reverse("emergency-sheet", args=[twin.pk]))
    names = [row["name"] for row in sheet_data(printed[0])["rows"] if row["name"].startswith("Kofi")]
    assert len(set(names)) == 2 and all("born" in name for name in names)
    assert sheet_data(printed[1])["heading"] in names


def test_a_childs_own_sheet_holds_the_child_alone(cast: Cast, printed: list[RoomSheet]) -> None:
    """For the binder or the office wall."""
    EmergencyPlanFactory(child=cast.mateo)
    answer = as_user(cast.tomas).get(reverse("emergency-sheet", args=[cast.mateo.pk]))
    assert answer.content.startswith(b"%PDF") and "mateo" not in str(answer.headers).lower()
    data = sheet_data(printed[0])
    assert data["heading"] == "Mateo Example" and len(data["rows"]) == 1 and data["others"] == ""


def test_a_cook_prints_the_childs_sheet_and_not_the_rooms(cast: Cast) -> None:
    """Who stands beside the child needs the one; the other names a whole class."""
    EmergencyPlanFactory(child=cast.mateo)
    sheet = as_user(cast.greta).get(reverse("emergency-sheet", args=[cast.mateo.pk]))
    assert sheet.status_code == 200 and of_room(cast, "greta").status_code == 404


@pytest.mark.parametrize("who", ["dmitri", "pavel", "ursula", "amara", "wren"])
def test_nobody_else_prints_them(cast: Cast, who: str) -> None:
    """Neither the class's nor the child's."""
    assert of_room(cast, who).status_code == 404
    child = reverse("emergency-sheet", args=[cast.mateo.pk])
    assert as_user(getattr(cast, who)).get(child).status_code == 404


def test_each_printing_is_on_record(cast: Cast) -> None:
    """Who printed which."""
    of_room(cast)
    as_user(cast.rosa).get(reverse("emergency-sheet", args=[cast.mateo.pk]))
    entries = Action.objects.filter(verb=Verb.EXPORTED, actor=cast.rosa).order_by("number")
    assert [entry.subject for entry in entries] == [f"room sheet of classroom {cast.larks.pk}", "emergency sheet"]
    assert entries[1].child == cast.mateo


@pytest.mark.parametrize(
    ("law", "paper", "call"),
    [
        (Jurisdiction.US, "us-letter", "Call 911"),
        (Jurisdiction.UK, "a4", "Call 999"),
        (Jurisdiction.CODEX, "a4", "Call your local emergency number"),
    ],
)
def test_it_comes_on_the_paper_and_with_the_number_of_the_place(law: Jurisdiction, paper: str, call: str) -> None:
    """Letter in the United States, A4 in the United Kingdom."""
    data = sheet_data(a_sheet(SheetChild("Bao", (), (), (), None), law=law))
    assert (data["paper"], data["call"]) == (paper, call)


@pytest.mark.parametrize("of_child", [True, False])
def test_names_are_data_and_never_markup(of_child: bool) -> None:
    """A child may be called anything, and a place too: the sheet is made."""
    hostile = '#read("/etc/passwd") *bold* $x$ <label> @ref \\ ]'
    plan = EmergencyPlanFactory.build(plan_place=hostile, medication_place=hostile, call=hostile)
    child = SheetChild(hostile, (hostile,), (hostile,), (hostile,), plan)
    assert roomsheet_pdf(a_sheet(child, of_child=of_child)).startswith(b"%PDF")


def test_an_empty_room_is_printed_too() -> None:
    """Nothing on record, and it promises nothing."""
    assert "That is no promise" in sheet_data(a_sheet())["others"]
    assert roomsheet_pdf(a_sheet()).startswith(b"%PDF")


def a_sheet(*children: SheetChild, law: Jurisdiction = Jurisdiction.US, of_child: bool = False) -> RoomSheet:
    site = SiteFactory.build(name="Ferrowick", jurisdiction=law, time_zone="UTC")
    now = timezone.now()
    number = number_in(site.country_code)
    return RoomSheet(site, "Larks", now.date(), now, number, children, 12, ["Read the package again."], of_child)
