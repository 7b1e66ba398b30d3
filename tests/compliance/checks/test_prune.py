"""What no page reads any more goes; what any page reads stays, to the letter."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks import prune as pruning
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.incident import open_incident
from compliance.checks.prune import LEAST_DAYS, Pruned, kept_from, prune
from compliance.checks.run import check_site, recompute
from compliance.models import (
    CheckedDay,
    DeadLetter,
    DishVerdicts,
    FoodRead,
    Incident,
    Night,
    NightSlice,
    OutgoingMail,
    Panel,
    PreparedDish,
    Run,
    RunRestriction,
    ServedDish,
)
from menus.models import Product, Serving
from menus.services.labels import record_label
from roster.services import record_restriction
from tests.cast import Cast

LONG_AGO = timedelta(days=500)


def check(cast: Cast) -> Run:
    return check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)


def shown(day: Any = None) -> list[tuple[Any, ...]]:
    """Every exception with its reasons, of all days on record."""
    today = timezone.localdate()
    asked = ExceptionFilter(today - 2 * LONG_AGO, today + timedelta(days=30))
    return [
        (row.serving.pk, row.child.pk, row.restriction.pk, row.outcome, tuple(each.sentence for each in row.reasons))
        for row in find_exceptions(None, asked)
    ]


def rest(days: int = 10) -> None:
    """Let the dishes be older than what may be about to be pointed to."""
    PreparedDish.objects.update(made_at=timezone.now() - timedelta(days=days))


def another_label(cast: Cast, words: str = "wheat flour, peanuts, water") -> None:
    bread = Product.objects.get(name="Sandwich bread")
    seen = bread.labels.order_by("-number")[0]
    record_label(product=bread, ingredients=words, seen_on=timezone.localdate(), after=seen.number)


def long_ago(moment: timedelta = LONG_AGO) -> None:
    """Let all that was checked have been so long ago."""
    for serving in Serving.objects.all():
        Serving.objects.filter(pk=serving.pk).update(date=serving.date - moment)
    for each in CheckedDay.objects.all():
        CheckedDay.objects.filter(pk=each.pk).update(day=each.day - moment)
    for run in Run.objects.all():
        Run.objects.filter(pk=run.pk).update(
            as_of=run.as_of - moment, first_day=run.first_day - moment, last_day=run.last_day - moment
        )


def test_what_was_just_checked_stays(cast: Cast) -> None:
    check(cast)
    rest()
    before = shown()
    assert before
    assert not any(prune(timezone.now()).rows.values())
    assert shown() == before


def test_a_dish_that_no_serving_meets_goes_with_its_verdicts(cast: Cast) -> None:
    """After another label, once it has rested; the page shows the same, and a run can be worked out again."""
    first = check(cast)
    another_label(cast)
    second = check(cast)
    before, dishes = shown(), PreparedDish.objects.count()
    assert prune(timezone.now()).rows["prepareddish"] == 0, "it has not rested"
    rest()
    met = set(ServedDish.objects.values_list("dish", flat=True))
    gone = prune(timezone.now())
    assert gone.whole and gone.rows["prepareddish"] == dishes - len(met) > 0
    assert shown() == before
    assert set(PreparedDish.objects.values_list("pk", flat=True)) == met
    assert set(DishVerdicts.objects.values_list("dish", flat=True)) == met
    for run in (first, second):
        assert recompute(run) == run.result_hash
    assert check(cast).same_as == second


def test_restrictions_read_by_a_run_that_speaks_for_no_day_go(cast: Cast) -> None:
    first = check(cast)
    record_restriction(child=cast.bao, substance="egg", recorded_by=cast.hakim)
    second = check(cast)
    before = shown()
    assert prune(timezone.now()).rows["runrestriction"] > 0
    assert set(RunRestriction.objects.values_list("run", flat=True)) == {second.reads_of}
    assert first.pk != second.reads_of
    assert shown() == before


def test_what_a_later_run_rests_on_stays(cast: Cast) -> None:
    """The second found the same, and its restrictions are stored under the first."""
    first, second = check(cast), check(cast)
    assert second.reads_of == first.pk
    kept = RunRestriction.objects.count()
    assert prune(timezone.now()).rows["runrestriction"] == 0
    assert RunRestriction.objects.filter(run=first).count() == kept > 0


def test_a_panel_gone_by_keeps_only_what_its_own_days_met(cast: Cast) -> None:
    """Types changed: the old panel's verdicts go, apart from dishes of a day for which it still speaks."""
    first = check(cast)
    another_label(cast)
    again = check(cast)
    assert first.panel == again.panel
    long_ago(timedelta(days=30))
    Run.objects.update(as_of=timezone.now() - timedelta(days=5))
    CheckedDay.objects.all().delete()
    last = timezone.localdate() - timedelta(days=5)
    CheckedDay.objects.create(site=cast.ferrowick, day=last, run=again)
    Serving.objects.filter(pk=cast.servings[0].pk).update(date=last)
    rest()
    before = shown()
    prune(timezone.now())
    met = ServedDish.objects.get(serving=cast.servings[0]).dish_id
    assert list(DishVerdicts.objects.values_list("dish", flat=True)) == [met]
    assert shown() == before


@pytest.mark.parametrize("keep", [0, 400, 600])
def test_days_long_gone_go_where_they_are_not_to_be_kept(cast: Cast, settings: Any, keep: int) -> None:
    settings.KEEP_CHECKS_DAYS = keep
    check(cast)
    check_site(site=cast.tansy_gate, trigger=Run.Trigger.HAND)
    long_ago()
    rest(600)
    latest = check(cast)  # so that the runs of that time are the newest of no site, but for the daycare's
    before = shown()
    prune(timezone.now())
    left = {table: table.objects.count() for table in (ServedDish, DishVerdicts, PreparedDish)}
    if keep == 400:
        assert not any(left.values()), left
        assert list(CheckedDay.objects.values_list("run", flat=True).distinct()) == [latest.pk]
        assert set(Run.objects.values_list("site", flat=True)) == {cast.ferrowick.pk, cast.tansy_gate.pk}
        assert Run.objects.filter(site=cast.ferrowick).get() == latest
        assert set(FoodRead.objects.values_list("pk", flat=True)) == set(Run.objects.values_list("food", flat=True))
        assert set(Panel.objects.values_list("pk", flat=True)) == set(Run.objects.values_list("panel", flat=True))
    else:
        assert all(left.values()) and shown() == before


def test_what_an_open_incident_may_need_stays(cast: Cast, settings: Any) -> None:
    settings.KEEP_CHECKS_DAYS = 90
    now = timezone.now()
    opened, _ = open_incident(
        site=cast.ferrowick,
        kind=Incident.Kind.SHARED,
        child=cast.bao,
        noticed_at=now,
        seen="Bao ate from another plate.",
        food="",
        given_by="",
        opened_by=cast.rosa,
    )
    Incident.objects.filter(pk=opened.pk).update(noticed_at=now - timedelta(days=200))
    assert kept_from(now) == (now - timedelta(days=202)).date()
    Incident.objects.filter(pk=opened.pk).update(noticed_at=now)
    assert kept_from(now) == (now - timedelta(days=90)).date()


@pytest.mark.django_db
def test_however_little_is_set_some_weeks_are_kept(settings: Any) -> None:
    settings.KEEP_CHECKS_DAYS = 1
    now = timezone.now()
    assert kept_from(now) == (now - timedelta(days=LEAST_DAYS)).date()


def mail(cast: Cast, about: str, **said: datetime | None) -> OutgoingMail:
    moment = timezone.now() - LONG_AGO
    return OutgoingMail.objects.create(
        kind="digest", to=cast.rosa, about=about, subject="Menus", made_at=moment, next_try_at=moment, **said
    )


def test_settled_mails_nights_and_letters_go_and_open_ones_stay(cast: Cast) -> None:
    now, then = timezone.now(), timezone.now() - LONG_AGO
    mail(cast, "sent", sent_at=then)
    mail(cast, "never", given_up_at=then)
    kept = {mail(cast, "waits"), mail(cast, "lately", sent_at=now)}
    Night.objects.create(due_at=then, closed_at=then, state=Night.State.COMPLETE).slices.create(number=1, sites=[])
    open_night = Night.objects.create(due_at=then, turn=2)
    DeadLetter.objects.create(task="slice", reason="error", site=cast.ferrowick, failed_at=then, settled_at=then)
    unsettled = DeadLetter.objects.create(task="slice", reason="error", site=cast.ferrowick, failed_at=then)
    prune(now)
    assert set(OutgoingMail.objects.all()) == kept
    assert (Night.objects.get(), NightSlice.objects.count()) == (open_night, 0)
    assert DeadLetter.objects.get() == unsettled


def test_many_rows_go_in_several_transactions(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    check(cast)
    another_label(cast)
    check(cast)
    rest()
    monkeypatch.setattr(pruning, "AT_ONCE", 1)
    first = prune(timezone.now())
    assert first.whole and PreparedDish.objects.filter(served=None).count() == 0
    assert not any(prune(timezone.now()).rows.values())


def test_while_checks_go_on_it_gives_up_and_says_so(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is lost by it: the next night goes on."""
    check(cast)
    another_label(cast)
    check(cast)
    rest()
    monkeypatch.setattr(pruning, "may_prune", lambda: False)
    before = PreparedDish.objects.count()
    assert prune(timezone.now(), patience=timedelta(0)) == Pruned({}, whole=False)
    assert PreparedDish.objects.count() == before
