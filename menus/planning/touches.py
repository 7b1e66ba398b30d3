"""The uses that an order of work puts in sequence: one touch for each thing that a step works on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from menus.kitchen.cleaning import removes
from menus.planning.work import CleaningAt, Work


@dataclass(frozen=True, slots=True)
class Touch:
    """One surface in use from the start of a step, for so many minutes; without a step, a cleaning at a fixed time."""

    step: int | None
    dish: int | None
    surfaces: tuple[int, ...]
    minutes: int
    cleaned: tuple[CleaningAt, ...] = ()
    at: int | None = None  # minute, when it is fixed

    @property
    def busy(self) -> int:
        """Minutes until the surface can be used again."""
        return self.minutes + sum(each.cleaning.minutes for each in self.cleaned)


@dataclass(frozen=True)
class Touches:
    """The touches of a work, and what must come before what."""

    work: Work

    @cached_property
    def all(self) -> tuple[Touch, ...]:
        """Every touch, the steps' in the order of the work and the fixed cleanings last."""
        steps = [
            Touch(
                number,
                step.dish,
                need.surfaces,
                step.minutes,
                need.cleaned,
                self.work.minute(step.at) if step.fixed else None,
            )
            for number, step in enumerate(self.work.steps)
            for need in step.needs
        ]
        cleanings = [
            Touch(None, None, (each.surface,), 0, (each,), self.work.minute(each.at)) for each in self.work.cleanings
        ]
        return (*steps, *cleanings)

    def works(self, touch: Touch, surface: int) -> bool:
        """Tell whether a cleaning that follows this touch removes allergens from that surface."""
        material = self.work.stations[surface].facts.material
        return any(removes(each.cleaning.method, material) for each in touch.cleaned)

    @cached_property
    def previous(self) -> dict[int, int]:
        """By step, the step of the same dish that comes before it."""
        return {second: first for steps in self.by_dish.values() for first, second in pairwise(steps)}

    @cached_property
    def by_dish(self) -> dict[int, list[int]]:
        """Every dish's steps in the order in which they are taken."""
        steps: dict[int, list[int]] = {}
        for number in sorted(range(len(self.work.steps)), key=lambda each: self.work.steps[each].at):
            steps.setdefault(self.work.steps[number].dish, []).append(number)
        return steps

    @cached_property
    def ahead(self) -> list[set[int]]:
        """By step, every step that must have ended before it begins."""
        number = {step.id: index for index, step in enumerate(self.work.steps)}
        direct = [{number[each] for each in step.after} for step in self.work.steps]
        for second, first in self.previous.items():
            direct[second].add(first)
        return closure(direct)

    @cached_property
    def earliest(self) -> list[int]:
        """By step, the minute before which it cannot begin."""
        found: dict[int, int] = {}
        for number in sorted(range(len(self.work.steps)), key=lambda each: len(self.ahead[each])):
            step = self.work.steps[number]
            ends = [found[each] + self.work.steps[each].minutes for each in self.ahead[number]]
            found[number] = self.work.minute(step.at) if step.fixed else max(ends, default=0)
        return [found[number] for number in range(len(self.work.steps))]

    @cached_property
    def latest(self) -> list[int]:
        """By step, the minute after which it cannot begin if all is to end in time."""
        found: dict[int, int] = {}
        for number in sorted(range(len(self.work.steps)), key=lambda each: -len(self.ahead[each])):
            step = self.work.steps[number]
            behind = [found[each] for each in found if number in self.ahead[each]]
            due = self.work.due.get(step.dish, self.work.deadline)
            end = min([self.work.horizon, self.work.minute(due), *behind])
            found[number] = self.work.minute(step.at) if step.fixed else end - step.minutes
        return [found[number] for number in range(len(self.work.steps))]

    def window(self, touch: Touch) -> tuple[int, int]:
        """Return the first and the last minute at which the touch can begin."""
        if touch.at is not None:
            return touch.at, touch.at
        assert touch.step is not None
        return self.earliest[touch.step], self.latest[touch.step]

    def chained(self, first: Touch, second: Touch) -> bool:
        """Tell whether the second touch must wait until the first one's step has ended."""
        return first.step is not None and second.step is not None and first.step in self.ahead[second.step]

    def can_precede(self, first: Touch, second: Touch) -> bool:
        """Tell whether, on one surface, the first touch may be over before the second begins."""
        if first.at is not None and second.at is not None:
            return first.at < second.at
        if self.chained(second, first):
            return False
        return self.window(first)[0] + first.busy <= self.window(second)[1]


def closure(direct: list[set[int]]) -> list[set[int]]:
    """Return for each number everything that comes before it, directly or not. Raises ValueError for a circle."""
    reached: list[set[int]] = []
    for number in range(len(direct)):
        seen: set[int] = set()
        todo = list(direct[number])
        while todo:
            each = todo.pop()
            if each not in seen:
                seen.add(each)
                todo.extend(direct[each])
        if number in seen:
            raise ValueError(number)
        reached.append(seen)
    return reached
