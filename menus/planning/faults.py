"""What makes a work impossible to plan, said in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from menus.kitchen.cleaning import removes
from menus.planning.touches import Touches, closure
from menus.planning.work import Work, WorkStep


class Unworkable(Exception):
    """There is no order of work to propose; the message says why and how to mend it."""


def check(work: Work) -> None:
    """Raise Unworkable with every fault that can be seen without a search."""
    if found := list(_faults(work)):
        raise Unworkable(" ".join(found))
    _check_circle(work)
    _check_time(work)


def _faults(work: Work) -> Iterator[str]:
    if work.horizon < 1:
        yield f"The work is to end by {work.deadline:%H:%M}, before it begins at {work.start:%H:%M}. Give a later end."
    known = {step.id for step in work.steps}
    for station in work.stations.values():
        cleaning = station.cleaning
        if station.capacity < 1:
            yield f"{station.facts.name} takes {station.capacity} dishes at once. Give 1 or more."
        if cleaning and (cleaning.minutes < 1 or not removes(cleaning.method, station.facts.material)):
            yield (
                f"{station.facts.name} is to be cleaned by “{cleaning.method}” in {cleaning.minutes} minutes, which "
                "does not remove allergens from it. Name a method that does, with its minutes, or none."
            )
    for step in work.steps:
        yield from _step_faults(step, work, known)
    begun = [(step.dish, step.at) for step in work.steps]
    for dish, at in sorted({each for each in begun if begun.count(each) > 1}):
        yield f"Dish {dish} has two steps at {at:%H:%M}. Make them one step with two needs, or give them two times."


def _step_faults(step: WorkStep, work: Work, known: set[int]) -> Iterator[str]:
    if step.minutes < 1:
        yield f"Step {step.id} takes {step.minutes} minutes. Give 1 or more."
    if step.dish not in work.dishes:
        yield f"Step {step.id} is for dish {step.dish}, which is not there. Add the dish with its evidence."
    if not step.needs or not all(need.surfaces for need in step.needs):
        yield f"Step {step.id} names nothing that it works on. Give it at least one surface."
    for surface in {each for need in step.needs for each in need.surfaces} - work.stations.keys():
        yield f"Step {step.id} works on surface {surface}, which is not there. Add the surface."
    for missing in set(step.after) - known:
        yield f"Step {step.id} comes after step {missing}, which is not there. Add it or take it off."


def _check_circle(work: Work) -> None:
    number = {step.id: index for index, step in enumerate(work.steps)}
    direct = [{number[each] for each in step.after} for step in work.steps]
    for second, first in Touches(work).previous.items():
        direct[second].add(first)
    try:
        closure(direct)
    except ValueError as error:
        step = work.steps[error.args[0]]
        raise Unworkable(
            f"The step of {step.at:%H:%M} (number {step.id}) would have to come after itself: a dish's steps keep the "
            "order of their times. Take off one of the steps that it comes after."
        ) from error


def _check_time(work: Work) -> None:
    touches = Touches(work)
    for number, step in enumerate(work.steps):
        if touches.latest[number] < touches.earliest[number] and not step.fixed:
            needed = max(
                touches.earliest[each] + other.minutes for each, other in enumerate(work.steps) if not other.fixed
            )
            raise Unworkable(
                f"From {work.start:%H:%M} to {work.deadline:%H:%M} there are {work.horizon} minutes; the steps of one "
                f"dish alone, one after the other, need {needed}. Begin earlier or end later."
            )
