"""Whatever is written is on record: rows one by one by signals, many at once in one entry, the rest by its service."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from compliance.checks import recorded
from menus.models import Product, Site
from menus.services.labels import record_label
from roster.enrolling import enrol
from roster.models import Action, Post, User, Verb
from roster.record import watched
from roster.record.together import as_one
from roster.record.watch import is_watched
from roster.record.write import record
from tests.cast import Cast
from tests.factories import ChildFactory, ProductFactory, UserFactory

ROOT = Path(__file__).resolve().parents[3]
OURS = ("menus", "roster", "compliance")


def tables() -> list[Any]:
    """Every table of ours."""
    return [table for table in apps.get_models() if table._meta.app_label in OURS]


def test_every_table_is_watched_or_says_why_not() -> None:
    """A new table needs a line in `roster.record.watched` or `compliance.checks.recorded`, and only one."""
    lines = [
        *watched.WATCHED,
        *watched.BY_SERVICE,
        *watched.NO_ENTRY,
        *recorded.WATCHED,
        *recorded.BY_SERVICE,
        *recorded.NO_ENTRY,
    ]
    assert len(lines) == len(set(lines))
    assert set(lines) == set(tables())
    assert all(is_watched(table) for table in (*watched.WATCHED, *recorded.WATCHED))


IN_BULK = {
    ("menus/services/orderwork.py", "change_plan"): "the page puts the whole order of work on record",
    ("menus/services/photos.py", "read_photo"): "what the machine read of a draft, which needs no entry",
    ("menus/services/recipes.py", "record_recipe"): "part of a recipe version",
    ("menus/services/servings.py", "plan_all"): "one entry for all of it, by the signal rows_written",
    ("roster/enrolling.py", "enrol_all"): "told row by row, by watch.tell",
    ("roster/enrolling.py", "change_days"): "told row by row, by watch.remember and watch.tell",
    ("roster/imports/children.py", "_add_all"): "told row by row, by watch.tell",
    ("roster/imports/known.py", "_keep"): "rows of the last class list, whose digest is on record",
    ("roster/record/protect.py", "empty"): "a purge, which is on record",
    ("roster/record/write.py", "_ends_of"): "the record itself",
    ("roster/record/write.py", "record_all"): "the record itself",
    ("compliance/checks/bulk/rows.py", "insert_new"): "questions, told by the entry of each site's run",
    ("compliance/checks/bulk/tell.py", "tell"): "worked out by a run",
    ("compliance/checks/bulk/asked.py", "written"): "told by the entry of each site's run",
    ("compliance/checks/digest.py", "send_for"): "a run, which is on record",
    ("compliance/checks/wholemeals/job.py", "_failed"): "the state of a request, whose plans are on record",
    ("compliance/checks/nights/start.py", "begin"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/queue.py", "take"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/work.py", "_claim"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/work.py", "_renew"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/sweep.py", "sweep"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/close.py", "stop"): "the state of a night, whose runs are on record",
    ("compliance/checks/nights/letters.py", "settle"): "puts it on record itself",
    ("compliance/checks/nights/letters.py", "settle_checked"): "made good by a run, which is on record",
    ("compliance/checks/outbox.py", "put"): "tells of what is on record",
    ("compliance/checks/outbox.py", "claim"): "a mail on its way",
    ("compliance/checks/outbox.py", "sent"): "a mail on its way",
    ("compliance/checks/outbox.py", "put_off"): "a mail on its way",
    ("compliance/checks/outbox.py", "try_again"): "the page puts it on record",
    ("compliance/checks/referrals.py", "ask"): "told by note_asked",
    ("compliance/checks/texturequestions.py", "ask_about_texture"): "told by note_asked",
    ("compliance/checks/texturequestions.py", "take_back_textures"): "withdrawn by a newer level, which is on record",
    ("compliance/checks/referrals.py", "_take_back"): "withdrawn by a run or a wider question, which are on record",
    ("compliance/checks/escalation.py", "_take"): "one entry for the site and step",
    ("compliance/checks/recordintake.py", "take_in"): "told by note_asked",
    ("compliance/checks/claims.py", "claim"): "a run, which is on record once it is complete",
    ("compliance/checks/claims.py", "give_up"): "a run that failed found nothing",
    ("compliance/checks/changes.py", "note_site"): "says what is to be checked again, which a run does",
    ("compliance/checks/changes.py", "note_unread"): "says what is to be checked again, which a run does",
    ("compliance/checks/dishbydish.py", "_read_the_same"): "a run, which is on record",
    ("compliance/checks/dishbydish.py", "_stand"): "worked out by a run",
    ("compliance/checks/store.py", "_types"): "worked out by a run",
}
"""Where rows are written past the signals, by file and function, and why nothing is missed by that."""


def bulk_writes() -> Iterator[tuple[str, str]]:
    """Every place in our code that writes rows in bulk: `bulk_create`, `bulk_update`, and `update(column=…)`."""
    for package in OURS:
        for path in sorted((ROOT / package).rglob("*.py")):
            if {"migrations", "demo", "benchmarks"} & {*path.parts}:  # invented worlds
                continue
            for function in ast.walk(ast.parse(path.read_text())):
                if isinstance(function, ast.FunctionDef) and any(map(_is_bulk, ast.walk(function))):
                    yield str(path.relative_to(ROOT)), function.name


def _is_bulk(node: ast.AST) -> bool:
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return False
    name = node.func.attr
    return name in ("bulk_create", "bulk_update", "_raw_delete") or (
        name == "update" and bool(node.keywords) and not node.args and all(each.arg for each in node.keywords)
    )


def test_no_row_is_written_past_the_signals_without_a_reason() -> None:
    """A new bulk write needs a line above that says how it comes on record."""
    assert sorted(set(bulk_writes()) - IN_BULK.keys()) == []


class TestRows:
    """One row, one entry, with before and after."""

    def test_a_new_row(self, cast: Cast) -> None:
        """What it holds; long texts as their digest."""
        label = record_label(product=cast.larder.ham, seen_on=_day(), ingredients="pork, salt", seen_by=cast.greta)
        entry = Action.objects.latest("pk")
        assert (entry.verb, entry.subject, entry.actor) == (Verb.RECORDED, f"label {label.pk}", cast.greta)
        after = said(entry)["after"]
        assert after["number"] == 2 and len(after["ingredients"]) == 64 and "pork" not in entry.payload

    def test_a_change(self, cast: Cast) -> None:
        """The columns that differ, before and after; none of the others."""
        Site.objects.get(pk=cast.ferrowick.pk).save()
        count = Action.objects.count()
        cast.ferrowick.nightly_hour = 4
        cast.ferrowick.save()
        entry = Action.objects.latest("pk")
        assert Action.objects.count() == count + 1, "saving without a change is no action"
        assert said(entry) == {"before": {"nightly_hour": None}, "after": {"nightly_hour": 4}}
        assert entry.site == cast.ferrowick

    def test_the_row_itself_is_compared_not_what_was_loaded(self, cast: Cast) -> None:
        """Two people load, one saves: the other's entry tells what he overwrote."""
        late = Product.objects.get(pk=cast.larder.ham.pk)
        early = Product.objects.get(pk=cast.larder.ham.pk)
        early.name = "Smoked ham"
        early.save()
        late.name = "Cooked ham"
        late.save()
        assert said(Action.objects.latest("pk"))["before"] == {"name": "Smoked ham"}

    def test_a_deletion(self, cast: Cast) -> None:
        """What was there."""
        post = Post.objects.filter(user=cast.rosa).get()
        post.delete()
        entry = Action.objects.latest("pk")
        assert (entry.verb, entry.site) == (Verb.ENDED, cast.ferrowick)
        assert said(entry)["before"]["role"] == "teacher"

    def test_a_password_is_never_told_and_a_sign_in_is_no_change(self, cast: Cast) -> None:
        """That it changed is; the time of the last sign-in has a record of its own."""
        cast.rosa.set_password("another plain pudding")
        cast.rosa.save()
        entry = Action.objects.latest("pk")
        assert said(entry) == {"before": {"password": "(not told)"}, "after": {"password": "(not told)"}}
        cast.rosa.last_login = Action.objects.latest("pk").recorded_at
        cast.rosa.save()
        assert Action.objects.latest("pk") == entry

    def test_an_enrolment_is_about_its_child(self, cast: Cast) -> None:
        """So that the entries of a child can be found."""
        child: Any = ChildFactory()
        enrol(child=child, classroom=cast.larks, starts_on=_day())
        entry = Action.objects.latest("pk")
        assert (entry.child, entry.site) == (child, cast.ferrowick)

    @pytest.mark.django_db
    def test_a_new_account(self) -> None:
        """In the chain of what belongs to no one site."""
        user: Any = UserFactory(username="piet")
        entry = Action.objects.latest("pk")
        assert (entry.subject, entry.site) == (f"user {user.pk}", None)


class TestTogether:
    """Many writes, one entry."""

    def test_all_that_is_written_inside(self, cast: Cast) -> None:
        """New rows by kind and number, changes with before and after; who and what may be filled in late."""
        count = Action.objects.count()
        with as_one(Verb.IMPORTED, "file", by=cast.june.pk, rows=2) as entry:
            products: list[Any] = [ProductFactory(), ProductFactory()]
            User.objects.get(pk=cast.rosa.pk).save()
            cast.rosa.last_name = "Q."
            cast.rosa.save()
            entry.subject = "file of products"
        assert Action.objects.count() == count + 1
        made = Action.objects.latest("pk")
        assert (made.verb, made.subject, made.actor) == (Verb.IMPORTED, "file of products", cast.june)
        told = said(made)
        assert told["rows"] == 2 and told["made"]["product"] == [each.pk for each in products]
        [change] = told["changed"]
        assert change["what"] == f"user {cast.rosa.pk}" and change["after"] == {"last_name": "Q."}

    def test_what_a_service_records_itself_stays_its_own(self, cast: Cast) -> None:
        """Else nobody would find it under its child."""
        with as_one(Verb.IMPORTED, "file"):
            record(Verb.RECORDED, "restriction 1", child=cast.noor)
        assert list(Action.objects.order_by("-pk").values_list("subject", flat=True)[:2]) == ["file", "restriction 1"]

    def test_a_block_inside_a_block_joins_it(self, cast: Cast) -> None:
        """One question, one entry."""
        count = Action.objects.count()
        with as_one(Verb.CHECKED, "outer"), as_one(Verb.IMPORTED, "inner") as entry:
            ProductFactory()
            entry.said["more"] = 1
        newest = Action.objects.latest("pk")
        assert Action.objects.count() == count + 1
        assert newest.subject == "outer" and said(newest)["more"] == 1

    def test_when_the_block_fails_nothing_is_on_record(self, cast: Cast) -> None:
        """And what comes after it is an entry of its own again."""
        count = Action.objects.count()
        with pytest.raises(ZeroDivisionError), transaction.atomic(), as_one(Verb.IMPORTED, "file"):
            raise ZeroDivisionError
        assert Action.objects.count() == count
        ProductFactory()
        assert Action.objects.latest("pk").subject.startswith("product ")


def test_an_entry_takes_three_queries(cast: Cast) -> None:
    """The end of the chain, the entry, the new end."""
    record(Verb.READ, "menu", site=cast.ferrowick)
    with CaptureQueriesContext(connection) as caught:
        record(Verb.READ, "menu", site=cast.ferrowick)
    assert len(caught) == 3


def said(entry: Action) -> dict[str, Any]:
    """What the entry says."""
    found: dict[str, Any] = json.loads(entry.payload)["said"]
    return found


def _day() -> date:
    return timezone.localdate()
