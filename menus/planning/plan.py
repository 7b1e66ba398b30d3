"""An order of work: who does what where and when, what is cleaned, and what is carried over all the same."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from menus.kitchen.events import Clean, Use
from menus.planning.residue import Residue
from menus.planning.work import CleaningAt


@dataclass(frozen=True, slots=True)
class Placed:
    """One step with its time and the surfaces that it gets, in the order of its needs."""

    step: int
    dish: int
    at: datetime
    minutes: int
    surfaces: tuple[int, ...]

    @property
    def end(self) -> datetime:
        """When its surfaces are free again."""
        return self.at + timedelta(minutes=self.minutes)


@dataclass(frozen=True, slots=True)
class Why:
    """What a cleaning keeps away: this residue from that dish, for so many children."""

    residue: Residue
    dish: int
    children: int


@dataclass(frozen=True, slots=True)
class Washed:
    """One cleaning: one of today's, at its new time and place, or one that is added, and then `why`."""

    surface: int
    method: str
    at: datetime
    minutes: int
    today: CleaningAt | None = None
    why: tuple[Why, ...] = ()

    @property
    def added(self) -> bool:
        """Whether today's order does not have it."""
        return self.today is None

    @property
    def end(self) -> datetime:
        """When it is done."""
        return self.at + timedelta(minutes=self.minutes)


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """What is carried over to a dish, and how many children no longer get the dish for it."""

    dish: int
    residues: frozenset[Residue]
    children: int


@dataclass(frozen=True, slots=True)
class Plan:
    """An order of work, with what the kitchen's engine says that it carries over."""

    steps: tuple[Placed, ...]
    cleanings: tuple[Washed, ...]
    carried: tuple[CarriedOver, ...] = ()

    @property
    def children(self) -> int:
        """Children who meet carry-over, each counted once for each dish."""
        return sum(each.children for each in self.carried)

    @property
    def events(self) -> tuple[Use | Clean, ...]:
        """The order of work as the engine reads it."""
        uses = (Use(step.at, surface, step.dish) for step in self.steps for surface in step.surfaces)
        return (*uses, *(Clean(each.at, each.surface, each.method) for each in self.cleanings))
