"""What happens in a kitchen, as far as it moves allergens or ends their way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum


class How(IntEnum):
    """How something comes from one food to another, the surest first."""

    TOUCH = 0  # by what both touched
    AIR = 1  # by cooking steam or flour dust in the air
    NEAR = 2  # by a splash, a drip or a crumb, perhaps: it stood open beside the other


@dataclass(frozen=True, slots=True)
class Use:
    """A dish touches a surface."""

    at: datetime
    surface: int
    dish: int
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Clean:
    """A surface is cleaned by a method of the table; fresh oil is a cleaning too."""

    at: datetime
    surface: int
    method: str
    recorded_at: datetime | None = None
    trained: bool = True  # whether whoever did it has a training on record


@dataclass(frozen=True, slots=True)
class Contact:
    """Two surfaces touch, without a dish between them: a knife and a board, hands and a ladle."""

    at: datetime
    surface: int
    other: int


@dataclass(frozen=True, slots=True)
class Cover:
    """A dish is covered. It is spared what a stay would bring; a use touches it all the same."""

    at: datetime
    dish: int


@dataclass(frozen=True, slots=True)
class Uncover:
    """A covered dish is opened again."""

    at: datetime
    dish: int


@dataclass(frozen=True, slots=True)
class Reserve:
    """A portion is set apart with what its dish has by then, and goes its own way."""

    at: datetime
    dish: int
    portion: int  # the id of a dish


@dataclass(frozen=True, slots=True)
class Serve:
    """A dish is handed out. Nothing that happens later changes it; of several servings the last one counts."""

    at: datetime
    dish: int


@dataclass(frozen=True, slots=True)
class Stay:
    """A dish stays at a place for a while.

    TOUCH: in a self-serve bar or a transport container, where all that stay touch one another. NEAR: it stands open, on
    a table or a rack. AIR: it is cooked or dusted there, and its steam or flour reaches whatever stands there NEAR.
    """

    at: datetime
    until: datetime
    surface: int
    dish: int
    how: How

    def __post_init__(self) -> None:
        if self.until < self.at:
            raise ValueError(f"A stay cannot end ({self.until}) before it begins ({self.at}); exchange the two times.")


Event = Use | Clean | Contact | Cover | Uncover | Reserve | Serve | Stay
