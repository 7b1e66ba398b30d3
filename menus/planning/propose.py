"""Propose an order of work: the fewest children with carry-over, and of those orders the one that asks least."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from time import monotonic

from menus.planning.confirm import beginning, confirmed
from menus.planning.decode import decode, today
from menus.planning.faults import Unworkable, check
from menus.planning.plan import Plan
from menus.planning.search import Level, Search
from menus.planning.sound import unsound
from menus.planning.streams import Beginning
from menus.planning.work import Work

ROUNDS = 5
"""How often a plan that the engine refutes is cut off before today's order is kept."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """An order of work beside today's, both as the kitchen's engine judges them.

    `levels` say what the search reached for each aim in turn, and how far from the least possible that may be; they are
    empty when it found nothing in time. `kept`: no order found leaves fewer children than today's, so that stands.
    """

    today: Plan
    plan: Plan
    levels: tuple[Level, ...]
    kept: bool

    @property
    def proven(self) -> bool:
        """Whether no order leaves fewer children with carry-over, nor as few with fewer cleanings added."""
        return bool(self.levels) and all(level.proven for level in self.levels[:2])


def propose(work: Work, seconds: float) -> Proposal:
    """Search for so many seconds at most, and return the best order found with its proof or its gap.

    Raises Unworkable when the work is not sound or no order of it ends in time; the message then says how to mend it.
    The engine judges what is returned. A plan that carries over more than the search thought, or that cannot be done as
    it stands, is cut off and the search done again; after some rounds the best of what can be done is returned without
    a proof, as the engine counts it. The same work gives the same answer, unless the time runs out.
    """
    check(work)
    until = monotonic() + seconds
    begun, best = beginning(work), _as_it_is(work)
    refuted: list[dict[int, int]] = []
    is_whole = True  # every order that can be done is still among those searched
    for _ in range(ROUNDS):
        search = Search(work, begun, refuted)
        found = search.find(max(0.1, until - monotonic()))
        if found is None:
            if search.impossible and not refuted:
                raise Unworkable(_too_late(work))
            break
        plan = confirmed(work, decode(search, found.solution))
        if unsound(work, plan):
            is_whole = False
        else:
            levels = _counted(found.levels, plan)
            best = _better(work, best, plan, levels if is_whole else _unproven(levels))
            if plan.children <= found.levels[0].value:
                break
        refuted.append(search.program.choices(found.solution))
    return best


def _as_it_is(work: Work) -> Proposal:
    plan = confirmed(work, today(work))
    return Proposal(plan, plan, (), kept=True)


def _better(work: Work, best: Proposal, plan: Plan, levels: tuple[Level, ...]) -> Proposal:
    """The plan, unless it leaves as many children with carry-over as the best so far.

    Today's order asks nobody to change, so it stands unless it leaves more, or ends too late.
    """
    late = best.kept and any(step.end > work.deadline for step in best.plan.steps)
    if plan.children < best.plan.children or late:
        return replace(best, plan=plan, levels=levels, kept=False)
    return replace(best, levels=levels) if best.kept else best


def _counted(levels: tuple[Level, ...], plan: Plan) -> tuple[Level, ...]:
    """What the engine counts, where the search counted otherwise: that is no proof."""
    counts = (plan.children, sum(each.added for each in plan.cleanings))
    return (
        *(
            level
            if level.value == count
            else replace(level, value=count, bound=min(level.bound, count), proven=level.bound >= count)
            for level, count in zip(levels[:2], counts, strict=True)
        ),
        *levels[2:],
    )


def _unproven(levels: tuple[Level, ...]) -> tuple[Level, ...]:
    """What was reached after a plan was cut off that might have been done in another way."""
    return tuple(replace(level, bound=0, proven=level.value == 0) for level in levels)


def _too_late(work: Work) -> str:
    """Say when the work could end, for a deadline that no order meets."""
    later = timedelta(hours=12)
    longer = replace(
        work, deadline=work.deadline + later, due={dish: at + later for dish, at in work.due.items()}, stakes=()
    )
    search = Search(longer, Beginning({}, {}))
    found = search.program.minimise(search.end, 5, step=1)
    said = f"No order of these {len(work.steps)} steps that starts at {work.start:%H:%M} ends by {work.deadline:%H:%M}."
    if found.values is None:
        return f"{said} Begin earlier, end later, or name more equipment."
    ends = work.start + timedelta(minutes=round(found.of(search.end)))
    return f"{said} The earliest end found is {ends:%H:%M}. Begin earlier, end later, or name more equipment."
