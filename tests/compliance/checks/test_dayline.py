"""Plan and record as one line: what counts, what does not, and from when on."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from compliance.checks.dayline import Entry, Kitchen, State, line
from menus.models import Action, Deed, KitchenEvent, PlanStep, Recipe, Serving, Site, Surface
from menus.models.event import standing

SITE = Site(pk=1, name="Ferrowick", time_zone="America/Chicago")
DAY = date(2026, 3, 10)
SLICER = Surface(pk=1, site=SITE, name="Slicer", material="non_porous")
FRYER = Surface(pk=2, site=SITE, name="Fryer", material="fryer_oil")
TABLE = Surface(pk=3, site=SITE, name="Table", material="non_porous")
CHEESE, SALAD = Recipe(pk=1, name="Cheese sandwich"), Recipe(pk=2, name="Salad")
SERVED = [
    Serving(pk=1, site=SITE, date=DAY, meal="lunch", recipe=CHEESE),
    Serving(pk=2, site=SITE, date=DAY, meal="lunch", recipe=SALAD),
]


def clock(hours: str, day: date = DAY) -> datetime:
    """That time of the kitchen's clock."""
    return datetime.combine(day, time.fromisoformat(hours), SITE.zone).astimezone(UTC)


def step(pk: int, at: str, surface: Surface = SLICER, **more: object) -> PlanStep:
    """A step of the plan: a use for the dish given, or else a full wash."""
    if "recipe" in more:
        return PlanStep(
            pk=pk, site=SITE, meal="lunch", at=time.fromisoformat(at), surface=surface, **{"action": "use", **more}
        )
    return PlanStep(
        pk=pk,
        site=SITE,
        meal="lunch",
        at=time.fromisoformat(at),
        surface=surface,
        **{"action": "clean", "method": "wash_rinse_sanitize", **more},
    )


def record(pk: int, kind: Deed, at: datetime, surface: Surface = SLICER, **more: object) -> KitchenEvent:
    """A record made when it happened."""
    return KitchenEvent(pk=pk, site=SITE, kind=kind, happened_at=at, recorded_at=at, surface=surface, **more)


PLAN = [step(1, "09:10", recipe=CHEESE), step(2, "09:30"), step(3, "09:40", recipe=SALAD)]


def shown(
    now: datetime, steps: list[PlanStep] | None = None, events: list[KitchenEvent] | None = None, served: object = None
) -> list[Entry]:
    """The line of the kitchen at that moment."""
    return line(Kitchen(SITE, served or SERVED, PLAN if steps is None else steps, events or []), now)


def states(entries: list[Entry]) -> list[State]:
    """What stands behind each entry, in the order of time."""
    return [entry.state for entry in entries]


def test_ahead_everything_counts_as_planned() -> None:
    """Nobody can have recorded it yet."""
    assert states(shown(clock("08:00"))) == [State.PLANNED] * 3
    assert all(entry.counts for entry in shown(clock("08:00")))


def test_a_planned_use_that_nobody_recorded_counts_as_done() -> None:
    """It may have left something behind."""
    first = shown(clock("09:20"))[0]
    assert (first.state, first.counts) == (State.ASSUMED, True)


def test_a_planned_cleaning_counts_until_the_next_use_is_due() -> None:
    """At 09:35 it can still be done in time; at 09:40 the salad is on the slicer, and no record means not cleaned."""
    assert states(shown(clock("09:35"))) == [State.ASSUMED, State.DUE, State.PLANNED]
    late = shown(clock("09:40"))
    assert states(late) == [State.ASSUMED, State.NOT_DONE, State.ASSUMED]
    assert not late[1].counts


def test_a_cleaning_of_a_day_gone_by_without_a_record_did_not_happen() -> None:
    """Whether or not anything came after it that day: the oil was not changed."""
    plan = [step(1, "10:00", FRYER, recipe=CHEESE), step(2, "14:00", FRYER, method="oil_change_and_vat_wash")]
    assert states(shown(clock("23:00"), plan)) == [State.ASSUMED, State.DUE]
    assert states(shown(clock("02:00", DAY + timedelta(days=1)), plan)) == [State.ASSUMED, State.NOT_DONE]


def test_a_record_stands_in_the_place_of_its_step() -> None:
    """The wash was done at 09:35 and not at 09:30; the step says nothing any more."""
    washed = record(1, Deed.CLEAN, clock("09:35"), step=PLAN[1], method="wash_rinse_sanitize")
    entries = shown(clock("12:00"), events=[washed])
    assert [(entry.at, entry.state) for entry in entries] == [
        (clock("09:10"), State.ASSUMED),
        (clock("09:35"), State.RECORDED),
        (clock("09:40"), State.ASSUMED),
    ]


def test_a_record_stands_for_its_step_on_its_own_day_only() -> None:
    """Tomorrow's wash is as open as ever."""
    washed = record(1, Deed.CLEAN, clock("09:35"), step=PLAN[1], method="wash_rinse_sanitize")
    tomorrow = [
        Serving(pk=each.pk + 10, site=SITE, date=DAY + timedelta(days=1), meal="lunch", recipe=each.recipe)
        for each in SERVED
    ]
    entries = shown(clock("12:00", DAY + timedelta(days=1)), events=[washed], served=tomorrow)
    assert [entry.state for entry in entries if entry.action is Action.CLEAN] == [State.RECORDED, State.NOT_DONE]


def test_a_record_without_a_step_stands_beside_the_plan() -> None:
    """An extra wash is an extra wash."""
    washed = record(1, Deed.CLEAN, clock("09:20"), method="wash_rinse_sanitize")
    assert len(shown(clock("12:00"), events=[washed])) == 4


def test_a_use_that_was_left_out_is_no_use() -> None:
    """The salad was cut by hand: nothing is due on the slicer, so that its wash can still be done."""
    by_hand = record(1, Deed.LEFT_OUT, clock("09:38"), step=PLAN[2], serving=SERVED[1])
    assert states(shown(clock("12:00"), events=[by_hand])) == [State.ASSUMED, State.DUE]


def test_what_was_taken_back_no_longer_stands_and_the_plan_does() -> None:
    """The record is kept, with the one that took it back."""
    washed = record(1, Deed.CLEAN, clock("09:35"), step=PLAN[1], method="wash_rinse_sanitize")
    undone = KitchenEvent(pk=2, site=SITE, kind=Deed.UNDO, happened_at=clock("09:36"), corrects=washed)
    assert standing([washed, undone]) == []
    assert states(shown(clock("12:00"), events=standing([washed, undone])))[1] is State.NOT_DONE


def test_a_correction_that_was_taken_back_gives_place_to_the_first_record() -> None:
    """Otherwise a use could vanish by two slips of the finger."""
    used = record(1, Deed.USE, clock("09:10"), serving=SERVED[0])
    moved = record(2, Deed.USE, clock("09:20"), serving=SERVED[0], corrects=used)
    undone = KitchenEvent(pk=3, site=SITE, kind=Deed.UNDO, happened_at=clock("09:36"), corrects=moved)
    assert standing([used, moved]) == [moved]
    assert standing([used, moved, undone]) == [used]


def test_a_typed_minute_and_a_tap_within_it_are_at_one_time() -> None:
    """Nobody knows which was first, and the engine takes that for the worse; two taps keep their order."""
    tapped = record(1, Deed.CLEAN, clock("09:40") + timedelta(seconds=20), method="wash_rinse_sanitize")
    wash = next(entry for entry in shown(clock("12:00"), events=[tapped]) if entry.event)
    assert wash.at == clock("09:40")
    used = record(2, Deed.USE, clock("09:40") + timedelta(seconds=50), serving=SERVED[1], step=PLAN[2])
    wash = next(entry for entry in shown(clock("12:00"), events=[tapped, used]) if entry.event == tapped)
    assert wash.at == tapped.happened_at


def test_a_plan_changes_from_a_moment_on() -> None:
    """What was due before stays as it was planned then, and the new plan says nothing of it."""
    old, new = step(1, "09:10", recipe=CHEESE), step(2, "09:05", TABLE, recipe=CHEESE)
    old.withdrawn_at = new.since = clock("09:30")
    later = step(3, "09:50", TABLE, recipe=SALAD)
    later.since = clock("09:30")
    assert [entry.step for entry in shown(clock("12:00"), [old, new, later])] == [old, later]
    assert [entry.step for entry in shown(clock("09:20"), [old])] == [old], "known at 09:20, nothing had changed"


def test_steps_of_dishes_that_are_not_served_are_no_steps() -> None:
    """Nor is the wash of equipment that no dish meets that day; oil is followed on all the same."""
    soup = Recipe(pk=9, name="Soup")
    plan = [
        step(1, "09:00", recipe=soup),
        step(2, "09:30"),
        step(3, "14:00", FRYER, method="oil_change_and_vat_wash"),
    ]
    assert [entry.surface for entry in shown(clock("08:00"), plan)] == [FRYER]


def test_a_cover_is_a_protection_too() -> None:
    """Unrecorded, it counts until another dish is due on that table; the covered dish itself does not undo it."""
    plan = [
        step(1, "08:00", TABLE, recipe=SALAD),
        step(2, "08:10", TABLE, recipe=SALAD, action="cover"),
        step(3, "08:12", TABLE, recipe=SALAD),
        step(4, "08:15", TABLE, recipe=CHEESE),
    ]
    assert states(shown(clock("08:14"), plan))[1] is State.DUE
    assert states(shown(clock("08:15"), plan))[1] is State.NOT_DONE


def test_the_hour_that_comes_twice_keeps_its_order() -> None:
    """Times are kept in UTC: 01:30 before and after the clocks go back are an hour apart (1 November 2026)."""
    autumn = date(2026, 11, 1)
    first = datetime(2026, 11, 1, 1, 30, fold=0, tzinfo=SITE.zone).astimezone(UTC)
    second = datetime(2026, 11, 1, 1, 30, fold=1, tzinfo=SITE.zone).astimezone(UTC)
    served = [Serving(pk=1, site=SITE, date=autumn, meal="lunch", recipe=CHEESE)]
    later = record(1, Deed.USE, second, serving=served[0])
    earlier = record(2, Deed.CLEAN, first, method="wash_rinse_sanitize")
    entries = shown(second + timedelta(hours=1), [], [later, earlier], served)
    assert [entry.event for entry in entries] == [earlier, later]
