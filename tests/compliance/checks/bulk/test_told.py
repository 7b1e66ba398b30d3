"""Many sites at once ask and tell what one would work out exception by exception, whatever happens between nights."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from compliance.benchmarks.world.load import load_world
from compliance.benchmarks.world.size import Size
from compliance.checks import slices
from compliance.checks.bulk.asked import ask_for
from compliance.checks.bulk.stood import Stood, stood
from compliance.checks.bulk.table import Table
from compliance.checks.bulk.tell import tell
from compliance.checks.news import News
from compliance.checks.referrals import answer_referrals
from compliance.checks.slices import check_sites
from compliance.models import Announcement, Referral, Run
from menus.models import Delivery, Meal, Product, Recipe, Serving, Site
from menus.services.labels import record_label
from roster.enrolling import enrol
from roster.life.allowance import withdraw_allowance
from roster.models import Allowance, Basis, Child, Enrolment, Restriction, Strictness
from roster.services import record_restriction
from tests.cast import Cast
from tests.compliance.checks.bulk import plainly
from tests.factories import DeliveryFactory, ServingFactory, cooked, labelled, recook

FOODS = ("rice", "salt", "wheat flour", "milk", "egg white", "ham", "sesame oil", "cheese", "mustard", "coconut")
UNCLEAR = ("soybean oil", "natural flavor", "zorblax", "spices", "gelatin", "qwyrzel", "lecithin")
WORDS = FOODS + UNCLEAR
AVOIDED = ("soy", "mustard", "milk", "peanut", "gluten", "sesame", "pork", "meat-with-milk", "egg", "tree-nut")


class Beside:
    """Works out by hand what each check asks and tells, beside the check, and compares."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.compared, self.said = 0, News()
        self._before: dict[int, plainly.Known] = {}
        monkeypatch.setattr(slices, "stood", self._stood)
        monkeypatch.setattr(slices, "ask_for", self._ask_for)
        monkeypatch.setattr(slices, "tell", self._tell)

    def _stood(self, sites: Sequence[Site], first: date, last: date) -> Stood:
        self._before = {site.pk: plainly.known(site, first, last) for site in sites}
        return stood(sites, first, last)

    def _ask_for(self, table: Table, runs: Mapping[int, Run]) -> dict[int, list[Referral]]:
        self._write(runs)
        by_hand = self._undone(lambda: {site: plainly.open_referrals(run) for site, run in runs.items()})
        asked = ask_for(table, runs)
        assert ({site: len(found) for site, found in asked.items()}, plainly.asked_now()) == by_hand
        return asked

    def _undone(self, doing: Callable[[], Any]) -> tuple[Any, Any]:
        try:
            with transaction.atomic():
                opened = doing()
                found = plainly.asked_now()
                raise _Undo
        except _Undo:
            return opened, found

    def _write(self, runs: Mapping[int, Run]) -> None:
        """What is read by hand is read from rows that a check writes last."""
        for run in runs.values():
            run.save()

    def _tell(self, before: Stood, table: Table, runs: Mapping[int, Run]) -> dict[int, News]:
        news = tell(before, table, runs)
        for site, run in runs.items():
            old, new = self._before[site], plainly.known(run.site, before.first, before.last)
            assert news[site] == plainly.news_between(old, new)
            said = Announcement.objects.filter(run=run).values_list("serving", "child", "substance", "outcome")
            assert set(said) == plainly.announced(run, old, new)
            self.said += news[site]
        self.compared += 1
        return news


class _Undo(Exception):
    """Takes back what was tried."""


@pytest.fixture
def beside(monkeypatch: pytest.MonkeyPatch) -> Beside:
    """Every check in the test is compared."""
    return Beside(monkeypatch)


class Life:
    """What happens at two schools between their checks, by chance."""

    def __init__(self, cast: Cast, seed: int) -> None:
        self.cast, self.chance, self.at = cast, Random(seed), timezone.now()

    def happens(self) -> None:
        """One thing or another."""
        doing = (self.label, self.label, self.restrict, self.restrict, self.end, self.answer, self.answer)
        more = (self.withdraw, self.move, self.plan, self.plan, self.unplan, self.recook, self.deliver, self.unread)
        self.chance.choice((*doing, *more))()

    def passes(self) -> None:
        """A day, or a moment."""
        self.at = max(self.at + timedelta(days=self.chance.choice((0, 1))), timezone.now())

    def today(self, site: Site) -> date:
        return self.at.astimezone(site.zone).date()

    def site(self) -> Site:
        return self.chance.choice((self.cast.ferrowick, self.cast.ferrowick, self.cast.tansy_gate))

    def label(self) -> None:
        said = ", ".join(self.chance.sample(WORDS, 3))
        product = self.chance.choice(list(Product.objects.order_by("pk")))
        record_label(product=product, ingredients=said, seen_on=timezone.localdate())

    def restrict(self) -> None:
        child, substance = self.chance.choice(list(Child.objects.order_by("pk"))), self.chance.choice(AVOIDED)
        days = self.chance.choice((None, None, self.today(self.site()) + timedelta(days=self.chance.randrange(5))))
        strict = self.chance.choice(list(Strictness))
        Restriction.objects.create(
            child=child, substance=substance, basis=Basis.RELIGIOUS, strictness=strict, ends_on=days
        )

    def end(self) -> None:
        old = self.chance.choice(list(Restriction.objects.filter(replaced_by=None).order_by("pk")))
        record_restriction(child=old.child, substance=old.substance, replaces=old, note="again")

    def answer(self) -> None:
        waiting = list(Referral.objects.waiting().order_by("pk"))
        if waiting:
            asked = self.chance.choice(waiting)
            allow = asked.can_be_allowed and self.chance.random() < 0.7
            answer_referrals(
                referrals=[asked],
                user=self.cast.hakim,
                answer="allow" if allow else "keep",
                note="",
                ends_on=self.today(asked.site) + timedelta(days=self.chance.randrange(1, 20)),
                signature="Hakim, RN",
            )

    def withdraw(self) -> None:
        allowed = list(Allowance.objects.filter(withdrawal=None).order_by("pk"))
        if allowed:
            withdraw_allowance(
                allowance=self.chance.choice(allowed), reason="x", withdrawn_by=self.cast.hakim, signature="Hakim, RN"
            )

    def move(self) -> None:
        child = self.chance.choice(list(Child.objects.order_by("pk")))
        day = timezone.localdate() + timedelta(days=self.chance.randrange(1, 4))
        if Enrolment.objects.filter(child=child, starts_on__gte=day).exists():
            return
        Enrolment.objects.filter(child=child, ends_on=None).update(ends_on=day - timedelta(days=1))
        enrol(child=child, classroom=self.chance.choice((self.cast.larks, self.cast.minnows)), starts_on=day)

    def plan(self) -> None:
        site, day = self.site(), self.at.date() + timedelta(days=self.chance.randrange(8))
        meal = self.chance.choice((Meal.LUNCH, Meal.SNACK))
        Serving.objects.get_or_create(
            site=site, date=day, meal=meal, recipe=self.chance.choice(list(Recipe.objects.order_by("pk")))
        )

    def unplan(self) -> None:
        planned = list(Serving.objects.filter(withdrawn_at=None, served__isnull=True).order_by("pk"))
        if planned:
            Serving.objects.filter(pk=self.chance.choice(planned).pk).update(withdrawn_at=timezone.now())

    def recook(self) -> None:
        recipe = self.chance.choice(list(Recipe.objects.order_by("pk")))
        recook(recipe, self.chance.sample(list(Product.objects.order_by("pk")), 2))

    def deliver(self) -> None:
        if not Delivery.objects.exists():
            DeliveryFactory(kitchen=self.cast.ferrowick, site=self.cast.tansy_gate, recipe=None)

    def unread(self) -> None:
        cooked(f"Stew {self.chance.random()}", labelled(", ".join(self.chance.sample(WORDS, 2))))


def check(sites: Sequence[Site], **said: Any) -> None:
    """Check these sites together; what differs shows as a check that failed."""
    for _, error in check_sites(sites, trigger="night", **said).failed:
        raise error


@pytest.mark.parametrize("seed", range(12))
def test_whatever_happens(cast: Cast, beside: Beside, seed: int) -> None:
    """Labels, recipes, children, answers and plans change; nights come and go."""
    life = Life(cast, seed)
    for _ in range(4):
        life.unread()
        life.plan()
    for _ in range(5):
        check(life.chance.choice(([cast.ferrowick, cast.tansy_gate], [life.site()])), as_of=life.at, days=6)
        for _ in range(life.chance.randrange(1, 5)):
            life.happens()
        life.passes()
    assert beside.compared >= 5 and beside.said


def test_a_question_that_comes_up_again_on_a_further_day_is_no_news(cast: Cast, beside: Beside) -> None:
    """Jelly of unnamed gelatin tomorrow, and again on a day that comes into view the night after."""
    jelly, now = cooked("Jelly", labelled("water, sugar, gelatin", name="Jelly")), timezone.now()
    for days in (1, 3):
        ServingFactory(site=cast.ferrowick, recipe=jelly, date=now.date() + timedelta(days=days))
    check([cast.ferrowick], as_of=now, days=3)
    assert beside.said.ahead
    told, beside.said = beside.said, News()
    check([cast.ferrowick], as_of=now + timedelta(days=1), days=3)
    assert beside.said == News() != told and beside.compared == 2


def test_a_district_night_after_night(db: None, beside: Beside) -> None:
    """Four invented sites, and what comes into view with each day."""
    load_world(Size(600))
    sites, now = list(Site.objects.order_by("pk")), timezone.now()
    for night in range(3):
        check(sites, as_of=now + timedelta(days=night), days=7)
    assert beside.compared >= 3 and beside.said.ahead and Referral.objects.exists()
