"""What is found after a change, dish by dish, is what a check from the beginning finds: always."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from django.db import connection, transaction
from django.utils import timezone
from hypothesis import event, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from compliance.checks.changes import check_changes
from compliance.checks.news import News
from compliance.checks.recheck import sites_touched
from compliance.checks.run import recompute
from compliance.checks.slices import check_sites
from compliance.checks.standingrun import standing_runs
from compliance.checks.unreadsites import unread_sites
from compliance.models import Announcement, Referral, Run, UnreadChange
from menus.models import Site
from menus.signals import facts_changed
from tests.compliance.checks.changes.edits import EDITS, District, district, standing


@dataclass(frozen=True)
class Found:
    """What a check of all sites from the beginning finds: by site its result, its news, and the dishes that stand."""

    results: dict[int, str]
    news: dict[int, News]
    dishes: dict[int, dict[int, str]]
    asked: set[tuple[object, ...]]
    announced: set[tuple[object, ...]]


def anew(sites: list[Site]) -> Found:
    """Check all sites from the beginning, and keep nothing of it."""
    with transaction.atomic():
        checked = check_sites(sites, trigger=Run.Trigger.HAND)
        assert not checked.failed and not checked.busy
        results = {run.site_id: run.result_hash for run in checked.runs}
        found = Found(results, checked.news, standing(sites), asked(), announced())
        transaction.set_rollback(True)
    return found


def asked() -> set[tuple[object, ...]]:
    """The questions that are open."""
    columns = ("site", "child", "restriction", "subject", "needed_by", "term", "food", "question", "words", "about")
    return {(*row, tuple(about)) for *row, about in Referral.objects.waiting().values_list(*columns)}


def announced() -> set[tuple[object, ...]]:
    """What was announced."""
    return set(Announcement.objects.values_list("serving", "child", "substance", "outcome"))


class Edited(TestCase):
    """Random edits of a small district."""

    @settings(max_examples=20)
    @given(
        steps=st.lists(
            st.lists(st.tuples(st.sampled_from(sorted(EDITS)), st.integers(0, 999)), min_size=1, max_size=3),
            min_size=1,
            max_size=4,
        )
    )
    def test_always_the_same(self, steps: list[list[tuple[str, int]]]) -> None:
        """After each few edits; and no site that comes out otherwise was left out of those that a fact names."""
        here = district()
        check_sites(here.sites, trigger=Run.Trigger.NIGHT)
        for edits in steps:
            self.step(here, edits)

    def step(self, here: District, edits: list[tuple[str, int]]) -> None:
        before = anew(here.sites).results
        connection.run_on_commit.clear()  # as if a transaction began
        touched: set[int] = set()

        def hear(instance: object, **_: object) -> None:
            touched.update(sites_touched(instance).values_list("pk", flat=True))

        facts_changed.connect(hear)
        try:
            for name, seed in edits:
                EDITS[name](here, Random(seed))
        finally:
            facts_changed.disconnect(hear)
        found = anew(here.sites)
        differing = {pk for pk, result in found.results.items() if result != before[pk]}
        assert differing <= touched, edits
        unread = unread_sites(here.sites, timezone.now())
        assert differing <= unread, edits
        checked = check_changes()
        assert not checked.busy and not checked.failed
        assert not UnreadChange.objects.exists()
        runs = standing_runs(here.sites, timezone.now())
        assert {pk: run.result_hash for pk, run in runs.items()} == found.results, edits
        assert standing(here.sites) == found.dishes, edits
        assert {pk: checked.news.get(pk, News()) for pk in found.news} == found.news, edits
        assert (asked(), announced()) == (found.asked, found.announced), edits
        assert not unread_sites(here.sites, timezone.now()), edits
        for run in runs.values():
            event("dish by dish" if run.children_as_id and not run.same_as_id else "whole")
            assert recompute(run) == run.result_hash, edits
