"""The record of actions on the pages of the auditor: search, export, verify; and that it cannot be changed there."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from roster.models import Action, Role, Verb
from roster.record.purge import purge
from roster.record.write import record
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory
from tests.web.pages import as_user, queries, soup, words

EVIL = "=HYPERLINK(1)"


@pytest.fixture
def kept(cast: Cast) -> Cast:
    """Entries of two sites and of none."""
    record(Verb.READ, "statement 7", site=cast.ferrowick, child=cast.noor, by=cast.hakim.pk, page="/statements/7/")
    record(
        Verb.RECORDED,
        "restriction 99099",
        site=cast.tansy_gate,
        child=cast.ravi,
        by=cast.june.pk,
        before={"strictness": "trace"},
        after={"strictness": "ingredient", "note": EVIL},
    )
    record(Verb.RECORDED, EVIL, by=cast.june.pk)
    record(Verb.SERVED, "label 3", site=cast.ferrowick, by=cast.greta.pk)
    return cast


@pytest.fixture
def ursula(kept: Cast) -> Client:
    """The auditor of every site."""
    return as_user(kept.ursula)


def of_ferrowick(cast: Cast) -> Client:
    """An auditor of one site."""
    user: Any = UserFactory(username="otto")
    PostFactory(user=user, role=Role.AUDITOR, site=cast.ferrowick, classroom=None)
    return as_user(user)


def shown(client: Client, **asked: object) -> list[str]:
    """The headings of the entries that a search shows."""
    page = client.get(reverse("record"), asked)
    assert page.status_code == 200
    return [" ".join(each.get_text(" ").split()) for each in soup(page).select(".record li > p:first-child")]


def test_entries_are_shown_with_who_what_when_and_their_seal(ursula: Client, kept: Cast) -> None:
    """The newest first, with before and after side by side."""
    page = ursula.get(reverse("record"))
    told = words(page)
    assert f"Recorded: restriction 99099 , about child {kept.ravi.pk}" in told
    assert "June" in told and "Tansy Gate Daycare" in told and "as it was written" in told
    row = soup(page).find("th", string="strictness").find_parent("tr")
    assert [cell.get_text() for cell in row.find_all("td")] == ["trace", "ingredient"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"verb": "read"}, ["Read: statement 7"]),
        ({"subject": "RESTRICTION 99099"}, ["Recorded: restriction 99099"]),
        ({"subject": "restriction 99099", "verb": "read"}, []),
        ({"first": "2001-01-01", "last": "2001-01-02"}, []),
    ],
)
def test_search(ursula: Client, asked: dict[str, str], found: list[str]) -> None:
    """Every field narrows the list."""
    assert [each.split(" , about")[0] for each in shown(ursula, **asked)] == found


def test_search_by_child_and_site(ursula: Client, kept: Cast) -> None:
    """By number, so that no address names anybody; a site, or what is of none."""
    assert any("restriction 99099" in each for each in shown(ursula, child=kept.ravi.pk))
    assert not any("statement 7" in each for each in shown(ursula, child=kept.ravi.pk))
    assert [each.split(" , about")[0] for each in shown(ursula, person=kept.hakim.pk)] == ["Read: statement 7"]
    offered = soup(ursula.get(reverse("record"))).select("select[name=person] option")
    assert {each.get_text().split()[0] for each in offered} == {"Any", "Hakim", "June", "Greta"}
    assert not any("restriction 99099" in each for each in shown(ursula, chain=kept.ferrowick.pk))
    assert any(EVIL in each for each in shown(ursula, chain=0))


@pytest.mark.parametrize(
    "asked", [{"first": "soon"}, {"first": "2026-02-02", "last": "2026-02-01"}, {"verb": "x"}, {"child": "Noor"}]
)
def test_a_search_that_cannot_be_is_told(ursula: Client, asked: dict[str, str]) -> None:
    """With what is wrong; nothing typed is lost."""
    page = ursula.get(reverse("record"), asked)
    assert soup(page).select(".errorlist") and not soup(page).select(".record li")


def test_an_auditor_of_one_site_reads_that_site_alone(kept: Cast) -> None:
    """Neither another site nor what belongs to none, not even when asked for; in the file as on the page."""
    otto = of_ferrowick(kept)
    assert any("statement 7" in each for each in shown(otto))
    assert not any("restriction 99099" in each or EVIL in each for each in shown(otto))
    page = otto.get(reverse("record"), {"chain": kept.tansy_gate.pk})
    assert not soup(page).select(".record li")
    body = otto.get(reverse("record-export", args=["csv"])).content.decode()
    assert "statement 7" in body and "restriction 99099" not in body and "HYPERLINK" not in body


@pytest.mark.parametrize("who", ["june", "hakim", "greta", "rosa", "wren"])
def test_nobody_else_reads_it(kept: Cast, who: str) -> None:
    """Administrators neither: what they do is what it holds."""
    client = as_user(getattr(kept, who))
    assert client.get(reverse("record")).status_code == 404
    assert client.get(reverse("record-export", args=["csv"])).status_code == 404
    assert client.post(reverse("record-verify")).status_code == 404


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_an_export_is_whole_harmless_and_on_record(ursula: Client, kept: Cast, suffix: str) -> None:
    """No cell is a formula, the file name tells of nobody, and taking it is the newest entry."""
    before = Action.objects.count()
    answer = ursula.get(reverse("record-export", args=[suffix]))
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="record-20')
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    cells = _csv_cells(answer.content) if suffix == "csv" else _xlsx_cells(answer.content)
    assert len(cells) == 1 + before
    assert any(EVIL in cell for row in cells for cell in row)
    newest = Action.objects.latest("pk")
    assert (newest.verb, newest.actor, newest.subject) == (
        Verb.EXPORTED,
        kept.ursula,
        f"record of actions as {suffix}",
    )


def _csv_cells(body: bytes) -> list[list[str]]:
    rows = list(csv.reader(io.StringIO(body.decode("utf-8-sig"), newline="")))
    assert not any(cell.strip()[:1] in ("=", "+", "-", "@") for row in rows for cell in row)
    return rows


def _xlsx_cells(body: bytes) -> list[list[str]]:
    sheet = load_workbook(io.BytesIO(body)).worksheets[0]
    rows = list(sheet.iter_rows())
    assert {cell.data_type for row in rows for cell in row} <= {"s", "n", "inlineStr"}, "a formula would be f"
    return [[str(cell.value or "") for cell in row] for row in rows]


def test_too_much_for_one_file_is_refused(ursula: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """In words, and nothing is handed out or cut off."""
    monkeypatch.setattr("compliance.web.record.MOST_EXPORTED", 1)
    page = ursula.get(reverse("record-export", args=["csv"]))
    assert page.status_code == 400 and "Ask for fewer days" in words(page)


def test_verify_finds_nothing_and_is_on_record(ursula: Client) -> None:
    """And says how many entries it read."""
    count = Action.objects.count()
    assert f"No gap and no edit found in {count} entries" in words(ursula.post(reverse("record-verify")))
    assert Action.objects.latest("pk").verb == Verb.CHECKED


def test_verify_lists_faults_and_the_page_marks_the_entry(ursula: Client, kept: Cast) -> None:
    """A changed subject: the entry no longer fits its text."""
    entry = Action.objects.get(subject="statement 7")
    Action.objects.filter(pk=entry.pk).update(subject="statement 8")
    told = words(ursula.post(reverse("record-verify")))
    assert "1 fault in" in told and f"entry {entry.number} : The entry's columns were changed." in told
    [state] = soup(ursula.get(reverse("record"), {"subject": "statement 8"})).select(".broken")
    assert state.get_text() == "changed: it does not fit its seal"


def test_an_emptied_entry_says_that_it_was(ursula: Client, kept: Cast) -> None:
    """It holds its place and tells nothing."""
    purge(site=kept.ferrowick, before=timezone.now() + timedelta(minutes=1))
    told = words(ursula.get(reverse("record"), {"verb": "served"}))
    assert "no longer kept" in told and "emptied" in told and "label 3" not in told


def test_nothing_but_a_search_a_file_and_a_check_is_offered(ursula: Client) -> None:
    """Other methods are refused, and the only form that is posted asks for the check."""
    assert ursula.post(reverse("record")).status_code == 405
    assert ursula.get(reverse("record-verify")).status_code == 405
    assert ursula.delete(reverse("record-export", args=["csv"])).status_code == 405
    forms = soup(ursula.get(reverse("record"))).select("main form[method=post]")
    assert [form["action"] for form in forms] == [reverse("record-verify")]


def test_queries_do_not_grow_with_the_record(ursula: Client, kept: Cast) -> None:
    """The same for three entries and for forty more."""
    few = queries(lambda: ursula.get(reverse("record")))
    for number in range(40):
        record(Verb.READ, f"statement {number}", site=kept.ferrowick, child=kept.noor, by=kept.hakim.pk)
    assert queries(lambda: ursula.get(reverse("record"))) == few
