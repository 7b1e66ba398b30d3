"""An order of work in sentences: what was proven of it, and whom it concerns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from compliance.checks.ordereffect import Met, Turn
from compliance.rules.values import Outcome
from menus.models import Serving, Site
from menus.planning.propose import Proposal
from roster.models import Child


@dataclass
class Concerned:
    """One dish and the children it concerns: by name where the reader may see them, else counted by site."""

    serving: Serving
    named: dict[tuple[Child, Outcome, Outcome | None], list[str]] = field(default_factory=dict)
    elsewhere: dict[Site, set[int]] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)

    @property
    def lines(self) -> list[tuple[Outcome, Outcome | None, Child, str]]:
        """Each child with the outcome, the other one where it turns, and the foods that it is about."""
        return [(outcome, other, child, ", ".join(foods)) for (child, outcome, other), foods in self.named.items()]

    @property
    def counted(self) -> list[tuple[Site, int]]:
        """How many children of which sites are not named."""
        return [(site, len(children)) for site, children in self.elsewhere.items()]


def concerned(mets: Sequence[Met | Turn], rooms: set[int]) -> list[Concerned]:
    """Return the dishes with whom they concern; `rooms` are the classrooms that the reader may look into."""
    turns = [met if isinstance(met, Turn) else Turn(met, Outcome.NONE_FOUND) for met in mets]
    turning = any(isinstance(met, Turn) for met in mets)
    found: dict[int, Concerned] = {}
    for turn in sorted(turns, key=lambda each: (each.met.serving.date, each.met.serving.pk, str(each.met.child))):
        met = turn.met
        dish = found.setdefault(met.serving.pk, Concerned(met.serving))
        if met.classroom.pk in rooms:
            key = (met.child, met.outcome, turn.other if turning else None)
            dish.named.setdefault(key, []).append(met.substance_name)
        else:
            dish.elsewhere.setdefault(met.classroom.site, set()).add(met.child.pk)
        dish.reasons.extend(each.sentence for each in met.carried if each.sentence not in dish.reasons)
    return list(found.values())


def stays(mets: Iterable[Met]) -> list[str]:
    """Return one line a dish with what is carried over to it and for how many children, none of them named."""
    dishes: dict[Serving, list[Met]] = {}
    for met in mets:
        dishes.setdefault(met.serving, []).append(met)
    return [
        f"{dish.recipe}: {', '.join(sorted({met.substance_name for met in here}))}, for {_children(here)}"
        for dish, here in dishes.items()
    ]


def _children(mets: list[Met]) -> str:
    count = len({met.child.pk for met in mets})
    return f"{count} child" if count == 1 else f"{count} children"


def said_of(proposal: Proposal, seconds: int) -> str:
    """Return what was proven of a proposal, and what was not."""
    if not proposal.levels:
        return f"Nothing better than the present order was found in {seconds} seconds. That proves nothing."
    children, cleanings = proposal.levels[:2]
    if proposal.proven:
        return (
            "No order of these steps leaves fewer children without a dish because of carry-over, nor as few with fewer "
            "cleanings added. A child counts once for each dish."
        )
    if children.proven:
        return (
            "No order of these steps leaves fewer children without a dish because of carry-over. Whether it can be had "
            f"with fewer cleanings added than {cleanings.value} was not settled in {seconds} seconds; fewer than "
            f"{cleanings.bound} will not do."
        )
    return (
        f"This is the best that was found in {seconds} seconds: {proposal.plan.children} without a dish because of "
        f"carry-over, a child counted once for each dish. Whether fewer can be had was not settled; fewer than "
        f"{children.bound} cannot."
    )


def lifted_line(dish: str, count: int) -> str:
    """Say for how many children an allowance counts at a dish, for a sheet that names none."""
    return f"{dish}: {count} {'child' if count == 1 else 'children'}. Another product or label ends it."
