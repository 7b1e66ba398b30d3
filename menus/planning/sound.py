"""Whether an order of work can be done as it stands: what the search was to keep to, seen again from the result."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from menus.planning.plan import Plan
from menus.planning.work import Work, WorkStep


@dataclass(frozen=True, slots=True)
class Span:
    """One use of a surface."""

    at: datetime
    end: datetime
    fixed: bool


def unsound(work: Work, plan: Plan) -> list[str]:
    """Return in sentences what cannot be done as planned; an empty list when all of it can."""
    return [*_steps(work, plan), *_order(work, plan), *_surfaces(work, plan)]


def _steps(work: Work, plan: Plan) -> Iterator[str]:
    placed = {each.step: each for each in plan.steps}
    for step in work.steps:
        if step.fixed:
            continue
        if step.id not in placed:
            yield f"Step {step.id} is not in the plan."
            continue
        at = placed[step.id]
        if at.at < work.start or at.end > min(work.deadline, work.due.get(step.dish, work.deadline)):
            yield f"Step {step.id} is from {at.at:%H:%M} to {at.end:%H:%M}, outside the time given."
        fit = len(set(at.surfaces)) == len(step.needs) == len(at.surfaces)
        if not fit or any(each not in need.surfaces for each, need in zip(at.surfaces, step.needs, strict=True)):
            yield f"Step {step.id} is not on what it needs."


def _order(work: Work, plan: Plan) -> Iterator[str]:
    spans = {each.step: (each.at, each.end) for each in plan.steps}
    by_id = {step.id: step for step in work.steps}
    for step in work.steps:
        if step.id not in spans:
            continue
        for first in [*step.after, *_earlier(work, step)]:
            end = spans[first][1] if first in spans else _span(by_id[first]).end
            if end > spans[step.id][0]:
                yield f"Step {step.id} begins before step {first} has ended."


def _earlier(work: Work, step: WorkStep) -> list[int]:
    return [each.id for each in work.steps if each.dish == step.dish and each.at < step.at]


def _surfaces(work: Work, plan: Plan) -> Iterator[str]:
    for surface, station in work.stations.items():
        uses = sorted(_uses(work, plan, surface), key=lambda use: use.at)
        for number, use in enumerate(uses):
            beside = [each for each in uses if each.at == use.at]
            over = [each for each in uses[number + 1 :] if use.at < each.at < use.end]
            if not use.fixed and len(beside) > station.capacity:
                yield f"{len(beside)} dishes begin on {station.facts.name} at {use.at:%H:%M}."
            if any(not (use.fixed and each.fixed) for each in over):
                yield f"{station.facts.name} is not free yet at {over[0].at:%H:%M}."
        for washed in plan.cleanings:
            if washed.surface == surface and any(use.at < washed.end and washed.at < use.end for use in uses):
                yield f"{station.facts.name} is in use while it is cleaned at {washed.at:%H:%M}."


def _uses(work: Work, plan: Plan, surface: int) -> list[Span]:
    fixed = [_span(step) for step in work.steps if step.fixed and any(surface in need.surfaces for need in step.needs)]
    return [*fixed, *(Span(each.at, each.end, False) for each in plan.steps if surface in each.surfaces)]


def _span(step: WorkStep) -> Span:
    return Span(step.at, step.at + timedelta(minutes=step.minutes), True)
