"""What there is to do in a kitchen before one meal, as far as an order of work depends on it.

The values know dishes and residues, and of children only how many: who they are is the caller's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from menus.kitchen.events import Event
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.planning.residue import Residue


@dataclass(frozen=True, slots=True)
class Cleaning:
    """A way of cleaning, by its code in the table of methods, and how long it takes."""

    method: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Station:
    """A surface to work on, how many dishes it takes at once, and the cleaning that may be added between two uses.

    Dishes share a station only when they start on it at the same minute, and then each touches the other; a use that a
    cleaning follows shares with none. Without a `cleaning` (oil, porous ware, a toaster) nothing that is added between
    two uses would make it clean in time.
    """

    facts: SurfaceFacts
    capacity: int = 1
    cleaning: Cleaning | None = None


@dataclass(frozen=True, slots=True)
class CleaningAt:
    """A cleaning of one surface that today's order holds, with its time there."""

    at: datetime
    surface: int
    cleaning: Cleaning


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that a step works on: the surfaces that will do, today's first, and the cleanings that follow it.

    A cleaning that today's order gives after a step stays after that step, whatever it does to allergens: it may be
    there for another reason.
    """

    surfaces: tuple[int, ...]
    cleaned: tuple[CleaningAt, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step of a dish: what it needs all at once, when it begins today and how many minutes it takes.

    A dish's own steps keep the order in which they begin today; `after` names steps, of any dish, that must have ended.
    A `fixed` step (another meal's) stays at its time and place.
    """

    id: int
    dish: int
    at: datetime
    minutes: int
    needs: tuple[Need, ...]
    after: tuple[int, ...] = ()
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Stake:
    """So many children would no longer get the dish if any one of the residues were carried over to it."""

    dish: int
    residues: frozenset[Residue]
    children: int


@dataclass(frozen=True, slots=True)
class Work:
    """Everything that the order of work of one meal is worked out from.

    `before` is what happened before the start and may have left something behind. `cleanings` and `others` (a dish
    covered, a bar opened) stand at their time whatever the order of work; the search does not follow what `others`
    carry, and leaves that to the engine. `due` are dishes that must be ready before the deadline. Children are counted
    by `stakes`: one child once for each dish.
    """

    start: datetime
    deadline: datetime
    stations: Mapping[int, Station]
    dishes: Mapping[int, Pieces]
    steps: tuple[WorkStep, ...]
    stakes: tuple[Stake, ...]
    before: tuple[Event, ...] = ()
    cleanings: tuple[CleaningAt, ...] = ()
    others: tuple[Event, ...] = ()
    due: Mapping[int, datetime] = field(default_factory=dict)

    def minute(self, at: datetime) -> int:
        """Return how many minutes after the start that is."""
        return int((at - self.start).total_seconds() // 60)

    @property
    def horizon(self) -> int:
        """Minutes from the start to the deadline."""
        return self.minute(self.deadline)
