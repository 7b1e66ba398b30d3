"""The things that food touches."""

from __future__ import annotations

from dataclasses import dataclass

from menus.labels.evidence import Step

OIL = "fryer_oil"
UNWASHABLE = "unwashable"
"""The material of a thing that no cleaning makes clean, such as a toaster (FARE poster 2020 on shared toasters)."""


class UnknownSurface(LookupError):
    """An event names a surface that nobody described."""

    def __init__(self, surface: object) -> None:
        super().__init__(
            f"No surface {surface!r} is described, so nobody can say what lies on it. Describe it with its material."
        )


@dataclass(frozen=True, slots=True)
class SurfaceFacts:
    """A thing that food touches, what it is made of, and the substances that it is kept free of."""

    id: int
    name: str
    material: str  # a material of the cleaning table, or UNWASHABLE
    dedicated_for: tuple[str, ...] = ()

    @property
    def step(self) -> Step:
        """This surface as a link of a chain."""
        return Step("surface", str(self.id), self.name)
