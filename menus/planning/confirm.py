"""What the kitchen's own engine says of an order of work. Nothing is claimed of a plan that it does not confirm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from menus.kitchen.carryover import carry_over
from menus.kitchen.events import Clean, Event, Use
from menus.planning.plan import CarriedOver, Plan, Why
from menus.planning.residue import Residue, carried
from menus.planning.streams import Beginning
from menus.planning.work import Work


def carried_to(work: Work, events: Iterable[Event]) -> dict[int, frozenset[Residue]]:
    """Return by dish what these events carry over to it, after what came before the start."""
    surfaces = {number: station.facts for number, station in work.stations.items()}
    after = carry_over([*work.before, *events], surfaces, work.dishes)
    return {dish: carried(pieces, after[dish]) for dish, pieces in work.dishes.items()}


def carried_over(work: Work, events: Iterable[Event]) -> tuple[CarriedOver, ...]:
    """Return the dishes to which something is carried that somebody has a stake in."""
    found = carried_to(work, events)
    result: dict[int, CarriedOver] = {}
    for stake in work.stakes:
        if here := found.get(stake.dish, frozenset()) & stake.residues:
            known = result.get(stake.dish, CarriedOver(stake.dish, frozenset(), 0))
            result[stake.dish] = CarriedOver(stake.dish, known.residues | here, known.children + stake.children)
    return tuple(result.values())


def beginning(work: Work) -> Beginning:
    """Return how things stand when the work begins; what lies on a surface is what a clean dish would pick up there."""
    probe = {-1 - number: surface for number, surface in enumerate(work.stations)}
    surfaces = {number: station.facts for number, station in work.stations.items()}
    touch = [Use(work.start - timedelta(seconds=1), surface, dish) for dish, surface in probe.items()]
    after = carry_over([*work.before, *touch], surfaces, {**work.dishes, **dict.fromkeys(probe, ())})
    return Beginning(
        surfaces={surface: after[dish] for dish, surface in probe.items()},
        dishes={dish: after[dish] for dish in work.dishes},
    )


def fixed_events(work: Work) -> tuple[Event, ...]:
    """Return what stands at its time whatever the order of work."""
    uses = (Use(step.at, need.surfaces[0], step.dish) for step in work.steps if step.fixed for need in step.needs)
    cleanings = (Clean(each.at, each.surface, each.cleaning.method) for each in work.cleanings)
    return (*uses, *cleanings, *work.others)


def confirmed(work: Work, plan: Plan) -> Plan:
    """Return the plan with what the engine says of it, without the added cleanings that keep nothing away."""
    for each in plan.cleanings:
        if each.added:
            without = replace(plan, cleanings=tuple(other for other in plan.cleanings if other is not each))
            why = _why(work, plan, without)
            cleanings = (replace(other, why=why) if other is each else other for other in plan.cleanings)
            plan = replace(plan, cleanings=tuple(cleanings)) if why else without
    return replace(plan, carried=carried_over(work, [*plan.events, *fixed_events(work)]))


def _why(work: Work, plan: Plan, without: Plan) -> tuple[Why, ...]:
    """What is kept away by the one cleaning that the second plan does not have."""
    fixed = fixed_events(work)
    with_it, without_it = (carried_to(work, [*each.events, *fixed]) for each in (plan, without))
    kept_away: dict[tuple[Residue, int], int] = {}
    for stake in work.stakes:
        if not with_it[stake.dish] & stake.residues:
            for kind in sorted(without_it[stake.dish] & stake.residues):
                kept_away[kind, stake.dish] = kept_away.get((kind, stake.dish), 0) + stake.children
    return tuple(Why(kind, dish, children) for (kind, dish), children in kept_away.items())
