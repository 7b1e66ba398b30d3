"""A kitchen's equipment as the search for an order of work takes it: what does for what, and what may be cleaned."""

from __future__ import annotations

from collections.abc import Iterable

from compliance.checks.dayline import CLOSING_WASH
from compliance.checks.engineline import surface_facts
from menus.kitchen.cleaning import removes
from menus.models import Action, PlanStep, Surface
from menus.planning.work import Cleaning, Station

CLEANING_MINUTES: dict[str, int] = {Surface.Material.NON_POROUS: 10, Surface.Material.HANDS: 2}
"""How long a cleaning takes that is added (common practice, no source), where the plan has none to go by.

Oil is not changed between two dishes of one meal: it would have to cool first (common practice, no source).
"""

EXCHANGEABLE = frozenset(
    {
        Surface.Kind.BOARD,
        Surface.Kind.TABLE,
        Surface.Kind.MIXER,
        Surface.Kind.SLICER,
        Surface.Kind.FRYER,
        Surface.Kind.GRILL,
        Surface.Kind.OVEN_RACK,
        Surface.Kind.KETTLE,
        Surface.Kind.POT,
        Surface.Kind.TOASTER,
    }
)
"""Kinds of which one does for another. A knife does not do for a ladle, nor one cook's hands for another's."""


def others_like(surface: Surface, there: Iterable[Surface]) -> list[int]:
    """Return what does as well. What is kept free of something takes no dish that does not go there today."""
    if surface.kind not in EXCHANGEABLE:
        return []
    like = (surface.kind, surface.material, surface.dedicated_for)
    return [
        each.pk for each in there if each.pk != surface.pk and (each.kind, each.material, each.dedicated_for) == like
    ]


def station(surface: Surface, plan: Iterable[PlanStep]) -> Station:
    """Return the surface with the cleaning that may be added between two uses."""
    return Station(surface_facts(surface), surface.capacity, _cleaning(surface, plan))


def _cleaning(surface: Surface, plan: Iterable[PlanStep]) -> Cleaning | None:
    """The cleaning that the plan has for it where that works, else the usual one of its material."""
    if surface.material not in CLEANING_MINUTES:
        return None
    own = (
        Cleaning(step.method, step.minutes)
        for step in plan
        if step.surface_id == surface.pk and step.action == Action.CLEAN and step.withdrawn_at is None
        if removes(step.method, surface.material)
    )
    return next(own, Cleaning(CLOSING_WASH[surface.material], CLEANING_MINUTES[surface.material]))
