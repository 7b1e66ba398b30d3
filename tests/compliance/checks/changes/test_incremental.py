"""Where a change is checked dish by dish, and where the whole site is."""

from __future__ import annotations

from datetime import time, timedelta

import pytest
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from compliance.checks import digest, incremental
from compliance.checks.changes import check_changes, noted_ahead
from compliance.checks.run import recompute
from compliance.checks.slices import Checked, check_sites
from compliance.checks.standingrun import standing_runs
from compliance.checks.unreadsites import unread_sites
from compliance.models import CheckedDay, Panel, Referral, Run, ServedDish, UnreadChange
from menus.models import Deed, PlanStep, Product, Recipe, RecipeLine, Serving, Site
from menus.services.kitchen import Doing, record_event
from menus.services.labels import record_label
from tests.clock import noon_at
from tests.factories import (
    ClassroomFactory,
    DeliveryFactory,
    EnrolmentFactory,
    PlanStepFactory,
    RestrictionFactory,
    ServingFactory,
    SurfaceFactory,
    UserFactory,
    cooked,
    labelled,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def sauce() -> Product:
    """What the pasta is served with."""
    return labelled("tomatoes, salt")


@pytest.fixture
def sites(sauce: Product) -> list[Site]:
    """Two sites that serve pasta, one child at each who may not have milk, and a third that serves something else."""
    pasta, salad = (
        cooked("pasta", cooked("sauce", sauce), labelled("durum wheat")),
        cooked("salad", labelled("lettuce")),
    )
    made = [ClassroomFactory().site for _ in range(3)]
    for site, recipe in zip(made, (pasta, pasta, salad), strict=True):
        ServingFactory(site=site, recipe=recipe)
        EnrolmentFactory(child=RestrictionFactory(substance="milk").child, classroom=site.classrooms.get())
    return made


@pytest.fixture(autouse=True)
def _checked(sites: list[Site]) -> None:
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    UnreadChange.objects.all().delete()
    connection.run_on_commit.clear()


def relabelled(sauce: Product, ingredients: str = "tomatoes, cream, salt") -> Checked:
    """What comes of a new label."""
    connection.run_on_commit.clear()  # a test's transaction never ends, and what was noted counts as waiting
    record_label(product=sauce, ingredients=ingredients, seen_on=timezone.localdate())
    return check_changes()


def test_only_what_changed_is_checked_where_it_is_served(sauce: Product, sites: list[Site]) -> None:
    """Children, plan and records stay as they were read; what people are told is what is new."""
    before = standing_runs(sites, timezone.now())
    checked = relabelled(sauce)
    assert {run.site for run in checked.runs} == set(sites[:2])
    for run in checked.runs:
        stood = before[run.site_id]
        run.refresh_from_db()
        assert (run.children_as, run.inputs, run.panel) == (stood, stood.inputs, stood.panel)
        assert run.food_id != stood.food_id and run.result_hash != stood.result_hash
        assert run.counts["verdicts"] == {"withhold": 1, "refer": 0, "none-found": 0}
        assert run.counts["digest"]["changed"] == 1
        assert set(CheckedDay.objects.filter(site=run.site).values_list("run", flat=True)) == {run.pk}


def test_a_run_as_it_is_returned_is_worked_out_again_to_the_same(sauce: Product, sites: list[Site]) -> None:
    """What it has read is told by the row, without its being loaded anew first."""
    runs = relabelled(sauce).runs
    assert runs and all(recompute(run) == run.result_hash for run in runs)


def test_a_second_change_stands_on_the_first(sauce: Product, sites: list[Site]) -> None:
    """And back again to what was found at first."""
    night = standing_runs(sites, timezone.now())[sites[0].pk]
    relabelled(sauce)
    run = relabelled(sauce, "tomatoes, salt, cream, basil").runs[0]
    assert run.children_as == night
    back = relabelled(sauce, "tomatoes, salt").runs[0]
    assert back.counts["digest"]["gone"] == 1
    assert back.result_hash != night.result_hash  # the label is another one, though it says the same


def test_a_question_is_asked_widened_and_taken_back(sauce: Product, sites: list[Site]) -> None:
    """Without the whole site being checked; what was asked about other food and other children stays."""
    ServingFactory(site=sites[0], recipe=cooked("bread", labelled("wheat flour, vrimmelin")))
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    assert waiting() == {(sites[0].pk, "vrimmelin")}
    for ingredients, opened in (("tomatoes, zorblin", 1), ("tomatoes, zorblin, kelvarn", 1), ("tomatoes, salt", 0)):
        checked = relabelled(sauce, ingredients)
        assert all(run.children_as_id for run in checked.runs)
        assert [run.counts["referrals"] for run in checked.runs] == [opened, opened]
        words = {word for word in ("zorblin", "kelvarn") if word in ingredients}
        assert waiting() == {(sites[0].pk, "vrimmelin"), *((site.pk, word) for site in sites[:2] for word in words)}


def waiting() -> set[tuple[int, str]]:
    """The sites and the words about which somebody is asked."""
    return {
        (site, word)
        for site, words in Referral.objects.waiting().values_list("site", "words")
        for word in ("zorblin", "kelvarn", "vrimmelin")
        if word in words
    }


@pytest.fixture
def kitchen(sites: list[Site]) -> Site:
    """The first site, where the pasta and then the rice are cooked on one board, and beans on another."""
    kitchen = noon_at(sites[0])
    board, other = SurfaceFactory(site=kitchen), SurfaceFactory(site=kitchen)
    for place, name, at in ((board, "pasta", 9), (board, "rice", 10), (other, "beans", 10)):
        recipe = Recipe.objects.filter(name=name).first() or cooked(name, labelled(name))
        if name != "pasta":
            ServingFactory(site=kitchen, recipe=recipe)
        PlanStepFactory(surface=place, recipe=recipe, at=time(at))
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    return kitchen


def test_what_a_dish_leaves_behind_is_followed_where_it_goes(sauce: Product, kitchen: Site) -> None:
    """To what meets it on equipment, and no further."""
    before = by_dish(kitchen)
    run = next(run for run in relabelled(sauce).runs if run.site == kitchen)
    assert run.children_as_id
    assert {name for name, dish in by_dish(kitchen).items() if dish != before[name]} == {"pasta", "rice"}
    assert run.counts["verdicts"]["withhold"] == 2
    assert recompute(run) == run.result_hash


@pytest.mark.parametrize("what", ["came due", "dropped", "delivered", "swapped"])
def test_a_kitchen_that_stands_otherwise_is_checked_whole(sauce: Product, kitchen: Site, what: str) -> None:
    """A step came due or was dropped since; dishes are brought from elsewhere; a dish is no longer its recipe."""
    now = timezone.now()
    if what == "came due":
        PlanStep.objects.filter(recipe__name="beans").update(at=now.astimezone(kitchen.zone).time())
        Run.objects.filter(site=kitchen).update(as_of=now - timedelta(minutes=1))
    elif what == "dropped":
        PlanStep.objects.filter(recipe__name="beans").update(withdrawn_at=now)
    elif what == "delivered":
        DeliveryFactory(site=kitchen, recipe=Recipe.objects.get(name="beans"))
    else:
        serving = Serving.objects.get(site=kitchen, recipe__name="beans")
        out = Product.objects.get(lines__version__recipe__name="beans")
        doing = Doing(Deed.SWAP, serving=serving, product_out=out, product_in=labelled("peas"))
        record_event(site=kitchen, user=UserFactory(), doing=doing)
    UnreadChange.objects.all().delete()
    assert [run.children_as for run in relabelled(sauce).runs if run.site == kitchen] == [None]


def by_dish(site: Site) -> dict[str, int]:
    """The dish that stands for each serving, by name."""
    return dict(ServedDish.objects.filter(serving__site=site).values_list("serving__recipe__name", "dish"))


@pytest.mark.parametrize("what", ["edition", "day", "spoken for"])
def test_a_run_that_cannot_be_carried_on_is_not(sauce: Product, sites: list[Site], what: str) -> None:
    """Other rules judged it, it looked from another day on, or another run speaks for some of its days."""
    run = standing_runs(sites, timezone.now())[sites[0].pk]
    if what == "edition":
        Panel.objects.update(edition="another")
    elif what == "day":
        Run.objects.filter(pk=run.pk).update(first_day=run.first_day - timedelta(days=1))
    else:
        check_sites(sites[:1], trigger=Run.Trigger.HAND, first_day=run.last_day)
    checked = relabelled(sauce)
    assert [each.children_as for each in checked.runs if each.site == sites[0]] == [None]
    assert not unread_sites(sites, timezone.now())


def test_a_recipe_that_holds_itself_fails_where_it_is_served(sauce: Product, sites: list[Site]) -> None:
    """And nowhere else."""
    ServingFactory(site=sites[2], recipe=cooked("soup", sauce))
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    ring = Recipe.objects.get(name="sauce")
    RecipeLine.objects.create(
        version=ring.versions.get(), position=9, sub_recipe=Recipe.objects.get(name="pasta"), quantity=1, unit="kg"
    )
    checked = relabelled(sauce)
    assert {run.site for run, _ in checked.failed} == set(sites[:2])
    assert [run.site for run in checked.runs] == [sites[2]]


def test_what_cannot_be_judged_dish_by_dish_is_checked_whole(
    sauce: Product, sites: list[Site], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is wrong there fails alone and visibly then, and keeps no other change waiting."""

    def fail(*_: object) -> None:
        raise ValueError("evidence that cannot be read")

    monkeypatch.setattr(incremental, "check_together", fail)
    checked = relabelled(sauce)
    assert {run.site for run in checked.runs if run.children_as is None} == set(sites[:2])
    assert not UnreadChange.objects.exists()


def test_a_database_that_is_away_keeps_the_change_noted(
    sauce: Product, sites: list[Site], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same may be tried again."""

    def gone(*_: object) -> None:
        raise OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr(incremental, "check_together", gone)
    with pytest.raises(OperationalError):
        relabelled(sauce)
    assert UnreadChange.objects.exists()


def test_what_was_noted_by_a_clock_ahead_of_ours_waits(sauce: Product, sites: list[Site]) -> None:
    """A check of our moment would not read it, and nobody would come back for it."""
    connection.run_on_commit.clear()
    record_label(product=sauce, ingredients="tomatoes, cream", seen_on=timezone.localdate())
    UnreadChange.objects.update(noted_at=timezone.now() + timedelta(hours=1))
    assert check_changes().runs == []
    assert noted_ahead() and UnreadChange.objects.exists()
    UnreadChange.objects.update(noted_at=timezone.now())
    assert len(check_changes().runs) == 2
    assert not noted_ahead() and not UnreadChange.objects.exists()


def test_a_mail_that_cannot_be_written_keeps_no_change_noted(
    sauce: Product, sites: list[Site], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check stands; else it would be made again for ever."""

    def fail(*_: object) -> None:
        raise ValueError("a text that cannot be written")

    monkeypatch.setattr(digest, "send_for", fail)
    assert len(relabelled(sauce).runs) == 2
    assert not UnreadChange.objects.exists()


def test_a_run_of_another_day_is_not_carried_on(sauce: Product, sites: list[Site]) -> None:
    """One that was made ahead judged labels by their age on the day on which it was made."""
    run = standing_runs(sites, timezone.now())[sites[0].pk]
    Run.objects.filter(pk=run.pk).update(as_of=run.as_of - timedelta(days=1))
    assert [each.children_as for each in relabelled(sauce).runs if each.site == sites[0]] == [None]


def test_a_dish_without_a_check_has_the_whole_site_checked(sauce: Product, sites: list[Site]) -> None:
    """It was planned past the services; nothing that stood could be changed."""
    Serving.objects.create(
        site=sites[0], date=timezone.localdate(), meal="supper", recipe=Recipe.objects.get(name="pasta")
    )
    assert [run.children_as for run in relabelled(sauce).runs if run.site == sites[0]] == [None]


def test_many_sites_are_compared_in_as_many_queries_as_one(sites: list[Site]) -> None:
    """Every few minutes, for thousands of sites."""
    counts = []
    for some in (sites[:1], sites):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert unread_sites(some, timezone.now()) == set()
        counts.append(len(queries))
    assert counts[0] == counts[1] < 45
