"""A kitchen's line as the engine takes it: bars, containers, what stands open side by side, steam."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from compliance.checks.dayline import Kitchen, line
from compliance.checks.engineline import engine_events, surface_facts
from menus.kitchen.carryover import carry_over
from menus.kitchen.events import Stay
from menus.labels.evidence import Evidence, Kind
from menus.models import PlanStep, Recipe, Serving, Site, Surface

DAY = date(2026, 3, 10)
SITE = Site(pk=1, name="Ferrowick", time_zone="America/Chicago")
WALNUTS, CELERY = Recipe(pk=1, name="Walnuts"), Recipe(pk=2, name="Celery sticks")
DISHES = {1: (Evidence("tree-nut.walnut", Kind.NAMED),), 2: (Evidence("celery", Kind.NAMED),)}
FISH = {1: (Evidence("fish.cod", Kind.NAMED),), 2: (Evidence("celery", Kind.NAMED),)}


def surface(pk: int, kind: str, material: str = "non_porous") -> Surface:
    return Surface(pk=pk, site=SITE, name=kind.title(), kind=kind, material=material)


BAR, BOX, TABLE, KETTLE = surface(1, "bar"), surface(2, "container"), surface(3, "table"), surface(4, "kettle")


def step(at: str, where: Surface, recipe: Recipe | None = None, action: str = "use", **more: object) -> PlanStep:
    step.count += 1  # type: ignore[attr-defined]
    return PlanStep(
        pk=step.count,  # type: ignore[attr-defined]
        site=SITE, meal="lunch", at=time.fromisoformat(at), surface=where, recipe=recipe, action=action, **more,
    )  # fmt: skip


step.count = 0  # type: ignore[attr-defined]


def came(steps: list[PlanStep], dishes: object = None, site: Site = SITE) -> dict[str, set[tuple[str, Kind]]]:
    """What came to each dish from the other."""
    served = [Serving(pk=each.pk, site=site, date=DAY, meal="lunch", recipe=each) for each in (WALNUTS, CELERY)]
    kitchen = Kitchen(site, served, steps, [])
    entries = line(kitchen, datetime(2026, 3, 9, tzinfo=UTC))
    surfaces = {each.pk: surface_facts(each) for entry in entries for each in entry.surfaces}
    own = DISHES if dishes is None else dishes
    carried = carry_over(list(engine_events(kitchen, entries)), surfaces, own)
    return {
        name: {(piece.substance, piece.kind) for piece in carried[pk] if piece not in own[pk]}
        for pk, name in ((1, "walnuts"), (2, "celery"))
    }


WALNUT = ("tree-nut.walnut", Kind.CARRY_OVER)


def test_a_self_serve_bar_is_shared_from_its_opening_on() -> None:
    """XC18 of the scenarios: tongs move between the pans, whichever was put there first."""
    bar = [step("10:50", BAR, CELERY), step("10:55", BAR, WALNUTS), step("11:00", BAR, action="open")]
    assert WALNUT in came(bar)["celery"]


def test_a_bar_that_nobody_is_known_to_open_is_open() -> None:
    """Without a word of its opening it counts as shared from the moment at which the dishes stand there."""
    assert WALNUT in came([step("10:50", BAR, CELERY), step("10:55", BAR, WALNUTS)])["celery"]


def test_a_bar_cleared_before_the_other_comes_shares_nothing() -> None:
    """the celery was taken away and the bar washed: what comes later does not reach it."""
    bar = [
        step("10:00", BAR, CELERY),
        step("10:30", BAR, action="clean", method="wash_rinse_sanitize"),
        step("10:55", BAR, WALNUTS),
        step("09:00", BAR, action="open"),
    ]
    assert came(bar) == {"walnuts": set(), "celery": set()}


def test_what_travels_together_touches_unless_it_is_covered() -> None:
    """A transport container holds dishes side by side until it is sent off."""
    loaded = [step("10:35", BOX, CELERY), step("10:40", BOX, WALNUTS), step("10:55", BOX, action="travel")]
    assert WALNUT in came(loaded)["celery"]
    assert came([step("10:30", BOX, CELERY, "cover"), *loaded])["celery"] == set()


def test_two_journeys_do_not_meet_backwards() -> None:
    """What is loaded after the first journey meets what lay in the box, and not the other way round."""
    loaded = [step("10:00", BOX, CELERY), step("10:10", BOX, action="travel"), step("11:00", BOX, WALNUTS)]
    assert came(loaded) == {"walnuts": {("celery", Kind.CARRY_OVER)}, "celery": set()}


def test_open_side_by_side_on_a_table_asks_licensed_staff() -> None:
    """XC09: the first dish still stands there when the second is made. Later on, it does not."""
    beside = [step("08:00", TABLE, CELERY, minutes=10), step("08:05", TABLE, WALNUTS)]
    assert ("tree-nut.walnut", Kind.NEARBY) in came(beside)["celery"]
    apart = [step("08:00", TABLE, CELERY, minutes=10), step("08:10", TABLE, WALNUTS)]
    assert came(apart)["celery"] == set()


def test_steam_reaches_open_food_at_sites_that_say_so() -> None:
    """CC021 of the controls: fish in the steamer, an open bowl on the table."""
    steamed = [step("08:00", TABLE, CELERY, minutes=20), step("08:05", KETTLE, WALNUTS)]
    steamy = Site(pk=1, name="Ferrowick", time_zone="America/Chicago", airborne=True)
    assert ("fish.cod", Kind.AIRBORNE) in came(steamed, FISH, steamy)["celery"]
    assert came(steamed, FISH)["celery"] == set()
    assert came(steamed, DISHES, steamy)["celery"] == set(), "walnuts do not go through the air"


def test_the_days_work_ends_with_a_wash_where_a_wash_works() -> None:
    """Steel is clean next morning; oil is not, so that a planned change without a record leaves the fish in it."""
    fryer = surface(5, "fryer", "fryer_oil")
    days = [DAY, DAY.replace(day=11)]
    for where, expected in ((TABLE, set()), (fryer, {WALNUT})):
        served = [
            Serving(pk=pk, site=SITE, date=day, meal="lunch", recipe=each)
            for pk, day, each in ((1, days[0], WALNUTS), (2, days[1], CELERY))
        ]
        kitchen = Kitchen(SITE, served, [step("09:00", where, WALNUTS), step("09:30", where, CELERY)], [])
        entries = line(kitchen, datetime(2026, 3, 9, tzinfo=UTC))
        carried = carry_over(list(engine_events(kitchen, entries)), {where.pk: surface_facts(where)}, DISHES)
        assert {(piece.substance, piece.kind) for piece in carried[2]} - {("celery", Kind.NAMED)} == expected


def test_chains_tell_the_clock_of_the_kitchen() -> None:
    """And a stay in the hour that comes twice ends after it began."""
    events = list(_autumn_night())
    assert [f"{event.at:%H:%M}" for event in events if not isinstance(event, Stay)][-1] == "01:55"
    assert all(event.until >= event.at for event in events if isinstance(event, Stay))


def _autumn_night() -> list[object]:
    served = [Serving(pk=1, site=SITE, date=date(2026, 11, 1), meal="lunch", recipe=WALNUTS)]
    kitchen = Kitchen(SITE, served, [step("01:55", TABLE, WALNUTS, minutes=30)], [])
    return list(engine_events(kitchen, line(kitchen, datetime(2026, 10, 30, tzinfo=UTC))))
