"""How many children would no longer get which dish for which residue: what an order of work has to spare them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date

from compliance.checks.children import children_at, periods
from compliance.checks.dayline import Kitchen, batch_key
from compliance.checks.facts import Facts
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType
from menus.kitchen.events import How
from menus.kitchen.recipes import Pieces
from menus.kitchen.things import arrived, leaves
from menus.labels.evidence import Evidence
from menus.models import Serving, Site
from menus.planning.confirm import beginning
from menus.planning.residue import Residue, residue
from menus.planning.work import Stake, Work

Profile = frozenset[RestrictionType]
"""All that one child may not have."""


def stakes(facts: Facts, kitchen: Kitchen, day: date, work: Work) -> tuple[Stake, ...]:
    """Return the stakes of the kitchen's dishes on that day, wherever they are eaten. Two queries for each site.

    A child counts for a dish when the residue alone would make the outcome graver than it is when the work begins.
    """
    begun = beginning(work)
    judged = _Judged(_residues(work, [*begun.surfaces.values(), *begun.dishes.values()]))
    children = {site: _profiles(site, day, facts) for site in {each.site for each in _eaten(facts, day)}}
    counted: Counter[tuple[int, frozenset[Residue]]] = Counter()
    for serving in _eaten(facts, day):
        batch = kitchen.batches.get(batch_key(serving))
        if batch is None or batch.pk not in work.dishes:
            continue
        for profile, count in children[serving.site].items():
            if graver := judged.graver(profile, begun.dishes[batch.pk]):
                counted[batch.pk, graver] += count
    return tuple(Stake(dish, kinds, count) for (dish, kinds), count in counted.items())


def _eaten(facts: Facts, day: date) -> list[Serving]:
    return [each for each in [*facts.servings, *facts.others] if each.date == day]


def _profiles(site: Site, day: date, facts: Facts) -> Counter[Profile]:
    """Count the site's children by what they may not have on that day."""
    types: dict[int, set[RestrictionType]] = {}
    for period in periods(children_at(site, day, day), day, day, facts.at):
        types.setdefault(period.restriction.child_id, set()).add(period.type)
    return Counter(frozenset(each) for each in types.values())


def _residues(work: Work, lying: Iterable[Pieces]) -> dict[Residue, Evidence]:
    """What may be carried over on that day, each as it comes to another dish."""
    touched = [work.dishes[dish] for dish in sorted({step.dish for step in work.steps})]
    pieces = [piece for each in [*touched, *lying] for piece in leaves(each)]
    return {residue(piece): arrived(piece, How.TOUCH, ()) for piece in pieces}


class _Judged:
    """Outcomes, each worked out once."""

    def __init__(self, pieces: dict[Residue, Evidence]) -> None:
        self.pieces = pieces
        self.outcomes: dict[RestrictionType, dict[Outcome, set[Residue]]] = {}

    def graver(self, profile: Profile, own: Pieces) -> frozenset[Residue]:
        """Return the residues that make the outcome of a dish graver for a child."""
        outcome = max(judge(kind, own).outcome for kind in profile)
        return frozenset(
            kind
            for restricted in profile
            for reached, kinds in self._of(restricted).items()
            if reached > outcome
            for kind in kinds
        )

    def _of(self, restricted: RestrictionType) -> dict[Outcome, set[Residue]]:
        if restricted not in self.outcomes:
            found: dict[Outcome, set[Residue]] = {}
            for kind, piece in self.pieces.items():
                found.setdefault(judge(restricted, [piece]).outcome, set()).add(kind)
            self.outcomes[restricted] = found
        return self.outcomes[restricted]
