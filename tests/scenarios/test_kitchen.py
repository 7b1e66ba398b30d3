"""The kitchen's cases: new labels, equipment and the order of work, other suppliers, other sites."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from compliance.checks.cycle import cycle_grid
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.readby import read_by
from compliance.checks.run import recompute
from compliance.models import Referral
from menus.labels.evidence import Kind
from menus.models import CycleEntry, Deed, Meal, PlanStep, Recipe, Surface
from menus.services.kitchen import Doing, record_event
from menus.services.labels import record_label
from roster.models import Child
from roster.services import sign_allowance
from tests.clock import noon_at
from tests.factories import (
    CycleEntryFactory,
    CycleMenuFactory,
    PlanStepFactory,
    SurfaceFactory,
    UserFactory,
    cooked,
    labelled,
    recook,
    this_monday,
)
from tests.scenarios.stage import NONE_FOUND, Stage

pytestmark = pytest.mark.django_db

BREADING = "pollock, wheat flour, salt"


def used(surface: Surface, at: time, recipe: Recipe) -> PlanStep:
    step: PlanStep = PlanStepFactory(surface=surface, at=at, recipe=recipe)
    return step


def cleaned(stage: Stage, surface: Surface, at: time, method: str) -> None:
    """Record that the surface was cleaned: a cleaning that is only planned did not happen once its time is past."""
    record_event(
        site=stage.site,
        user=stage.teacher,
        doing=Doing(Deed.CLEAN, surface=surface, method=method),
        happened_at=datetime.combine(stage.today, at, stage.site.zone),
    )


def test_s30_three_weeks_of_menu_for_forty_children() -> None:
    """S30. Basis: design. Fifteen days of three dishes: a cell for each, and exceptions for those concerned alone."""
    stage = Stage.set()
    peanut = [stage.child("peanut") for _ in range(25)]
    milk = [stage.child("milk") for _ in range(15)]
    stage.child()
    dishes = [
        cooked("Satay", labelled("peanuts, soybeans")),
        cooked("Porridge", labelled("whole milk, rice")),
        cooked("Rice", labelled("rice")),
    ]
    cycle = CycleMenuFactory(site=stage.site, weeks=3, starts_on=this_monday())
    for week in (1, 2, 3):
        for weekday in range(5):
            for dish in dishes:
                CycleEntryFactory(cycle=cycle, week=week, weekday=weekday, recipe=dish)
    assert CycleEntry.objects.count() == 45
    first = this_monday() + timedelta(days=7)  # days gone by are not planned any more
    last = first + timedelta(days=20)
    stage.check(first_day=first, days=21)
    grid = cycle_grid(None, stage.site, first, last)
    counts = {(cell.serving.recipe.name, len(cell.withhold), len(cell.refer)) for cell in grid.cells}
    assert len(grid.cells) == 45
    assert counts == {("Satay", len(peanut), 0), ("Porridge", len(milk), 0), ("Rice", 0, 0)}
    assert len(find_exceptions(None, ExceptionFilter(first, last, site=stage.site))) == 15 * 40


def test_s31_sesame_came_into_the_bun() -> None:
    """S31. Basis: FARE and the School Nutrition Association on sesame flour in buns since 2023 (read).

    What was allowed against the old label is void with the new one.
    """
    stage = Stage.set()
    child, other = stage.child("sesame"), stage.child("milk")
    bun = labelled("wheat flour, water, yeast", label={"precautionary": "May contain sesame."})
    stage.serve(cooked("Burger", bun))
    allow(child, "sesame", Kind.MAY_CONTAIN, bun.labels.get(), stage)
    stage.check()
    assert stage.at_dish(child, "Burger") == NONE_FOUND
    new = "wheat flour, water, yeast, sesame flour"
    record_label(product=bun, ingredients=new, precautionary="May contain sesame.", seen_on=stage.today)
    stage.check()
    assert stage.at_dish(child, "Burger") == "withhold"
    assert stage.at_dish(other, "Burger") == NONE_FOUND


@pytest.mark.parametrize(("method", "outcome"), [("filter_oil", "withhold"), ("oil_change_and_vat_wash", NONE_FOUND)])
def test_s36_fryer_shared_with_fish(method: str, outcome: str) -> None:
    """S36. Basis: common practice, no source, on oil; Codex CXC 80-2020 on carry-over (introduction read).

    Filtering leaves the protein of fish and of its breading; fresh oil in a washed vat does not.
    """
    stage = Stage.set()
    noon_at(stage.site)
    fish, wheat, milk = stage.child("fish"), stage.child("wheat"), stage.child("milk")
    sticks, fries = cooked("Fish sticks", labelled(BREADING)), cooked("Fries", labelled("potatoes, canola oil"))
    fryer = SurfaceFactory(site=stage.site, material=Surface.Material.FRYER_OIL)
    used(fryer, time(10), sticks)
    cleaned(stage, fryer, time(10, 30), method)
    used(fryer, time(10, 45), fries)
    for dish in (sticks, fries):
        stage.serve(dish)
    stage.check()
    assert [stage.at_dish(child, "Fries") for child in (fish, wheat, milk)] == [outcome, outcome, NONE_FOUND]


@pytest.mark.parametrize(
    ("at", "method", "outcome"),
    [
        pytest.param(time(9, 20), "dry_wipe", "withhold", id="S37-wiped"),
        pytest.param(time(9, 20), "wash_rinse_sanitize", NONE_FOUND, id="S38-washed-between"),
        pytest.param(time(8, 50), "wash_rinse_sanitize", "withhold", id="S39-washed-before"),
        pytest.param(time(9, 40), "wash_rinse_sanitize", "withhold", id="S39-washed-after"),
        pytest.param(time(9, 20), "cook_heat", "withhold", id="S40-heat-is-no-cleaning"),
    ],
)
def test_slicer_between_two_dishes(at: time, method: str, outcome: str) -> None:
    """S37, S38, S39, S40. Basis: Perry et al. 2004 and FARE on cleaning (read); the order of work is the design's.

    S40 asks that a cook cannot call heat a remedy: here heat is no cleaning, and nothing else lets a cook relax.
    """
    stage = Stage.set()
    noon_at(stage.site)
    child = stage.child("milk")
    cheese, turkey = cooked("Cheese tray", labelled("cheddar cheese")), cooked("Turkey tray", labelled("turkey, salt"))
    slicer = SurfaceFactory(site=stage.site, name="Slicer")
    used(slicer, time(9), cheese)
    cleaned(stage, slicer, at, method)
    used(slicer, time(9, 30), turkey)
    for dish in (cheese, turkey):
        stage.serve(dish)
    stage.check()
    assert stage.at_dish(child, "Turkey tray") == outcome
    assert stage.at_dish(child, "Cheese tray") == "withhold"


def allow(child: Child, substance: str, kind: Kind, label, stage: Stage, days: int = 30) -> None:
    sign_allowance(
        restriction=child.restrictions.get(substance=substance),
        kind=kind,
        label=label,
        starts_on=stage.today,
        ends_on=stage.today + timedelta(days=days),
        signed_by=UserFactory(),
        signature="A. Example, MD",
    )


def test_s41_milk_when_baked_through() -> None:
    """S41. Basis: clinical practice on baked milk, from memory. Narrow: this muffin as labelled, until that day.

    The pudding is withheld all the while, another child's muffin too; a new label or the day's end voids it.
    """
    stage = Stage.set()
    child, other = stage.child("milk"), stage.child("milk")
    muffin = labelled("wheat flour, milk, sugar", name="Muffin")
    for offset in (0, 10):
        stage.serve(cooked("Muffin", muffin), stage.today + timedelta(days=offset))
    stage.serve(cooked("Pudding", labelled("milk, sugar")))
    allow(child, "milk", Kind.NAMED, muffin.labels.get(), stage, days=5)
    stage.check()
    asked = ExceptionFilter(stage.today, stage.today + timedelta(days=13), site=stage.site)
    muffins = {
        (row.child, (row.date - stage.today).days) for row in find_exceptions(None, asked) if row.dish == "Muffin"
    }
    assert muffins == {(child, 10), (other, 0), (other, 10)}
    assert stage.at_dish(child, "Pudding") == "withhold"
    record_label(product=muffin, ingredients="wheat flour, milk, sugar, whey", seen_on=stage.today)
    stage.check()
    assert (child.pk, "Muffin", "milk", "withhold") in stage.met(days=0)


def test_s42_bread_in_a_shared_toaster() -> None:
    """S42. Basis: common practice, no source. A toaster cannot be washed: no recorded cleaning, so wheat stays."""
    stage = Stage.set()
    coeliac = stage.child("gluten")
    toast, plain = cooked("Toast", labelled("wheat flour, water")), cooked("Plain toast", labelled("rice flour, water"))
    shared, own = SurfaceFactory(site=stage.site, name="Toaster"), SurfaceFactory(site=stage.site, name="Toaster 2")
    used(shared, time(7, 30), toast)
    step = used(shared, time(7, 45), plain)
    for dish in (toast, plain):
        stage.serve(dish)
    stage.check()
    assert stage.at_dish(coeliac, "Plain toast") == "withhold"
    PlanStep.objects.filter(pk=step.pk).update(surface=own)
    stage.check()
    assert stage.at_dish(coeliac, "Plain toast") == NONE_FOUND


def test_s60_another_margarine_at_the_last_minute() -> None:
    """S60. Basis: common practice, no source. One product for another in a part that three dishes share."""
    stage = Stage.set()
    child = stage.child("milk")
    spread = cooked("Spread", labelled("soybean oil, water, salt", name="Margarine A"))
    names = ("Toast", "Mash", "Peas")
    for name in names:
        stage.serve(cooked(name, spread))
    stage.check()
    assert stage.met() == set()
    recook(spread, [labelled("soybean oil, water, whey, salt", name="Margarine B")])
    stage.check()
    assert stage.met() == {(child.pk, name, "milk", "withhold") for name in names}


def test_s61_same_number_other_recipe() -> None:
    """S61. Basis: FAME manual on traceability (read). Both label versions stay; the meal of that day keeps its own."""
    stage = Stage.set()
    child = stage.child("egg")
    pasta = labelled("durum wheat, water", with_gtin=True)
    stage.serve(cooked("Pasta", pasta))
    before = stage.check()
    record_label(product=pasta, ingredients="durum wheat, water, egg", seen_on=stage.today)
    after = stage.check()
    assert stage.at_dish(child, "Pasta") == "withhold"
    assert [label.ingredients for label in pasta.labels.all()] == ["durum wheat, water", "durum wheat, water, egg"]
    assert read_by(before)["labels"] != read_by(after)["labels"]
    assert recompute(before) == before.result_hash != after.result_hash


def test_s91_bag_lunch_from_the_bread_line() -> None:
    """S91. Basis: McIntyre et al., many events happen outside the building (read). A bag is a dish like any other."""
    stage = Stage.set()
    coeliac = stage.child("gluten")
    sandwich = cooked("Sandwich", labelled("wheat flour, water"))
    bag = cooked("Trip bag", labelled("corn tortilla (corn, water), turkey"))
    board = SurfaceFactory(site=stage.site)
    used(board, time(7), sandwich)
    used(board, time(7, 15), bag)
    for dish in (sandwich, bag):
        stage.serve(dish)
    stage.check()
    assert stage.at_dish(coeliac, "Trip bag") == "withhold"


def test_s92_a_meal_nobody_knows_anything_of() -> None:
    """S92. Basis: CDC guidelines for schools, 2013 (read). A restaurant's dish: refer for all restricted, and asked."""
    stage = Stage.set()
    children = [stage.child("peanut"), stage.child("kiwi")]
    stage.child()
    stage.serve(Recipe.objects.create(code="trip", name="Restaurant lunch"), meal=Meal.LUNCH)
    stage.check()
    assert {(pk, outcome) for pk, _, _, outcome in stage.met()} == {(child.pk, "refer") for child in children}
    assert {referral.child for referral in Referral.objects.waiting()} == set(children)


def test_s94_the_same_dish_from_another_kitchen() -> None:
    """S94. Basis: design. What a kitchen's board carries over is that kitchen's, not the dish's."""
    school, club = Stage.set(), Stage.set()
    here, there = school.child("peanut"), club.child("peanut")
    satay, rice = cooked("Satay", labelled("peanuts")), cooked("Rice", labelled("rice"))
    board = SurfaceFactory(site=school.site)
    used(board, time(9), satay)
    used(board, time(9, 30), rice)
    for stage in (school, club):
        for dish in (satay, rice):
            stage.serve(dish)
        stage.check()
    assert school.at_dish(here, "Rice") == "withhold"
    assert club.at_dish(there, "Rice") == NONE_FOUND
