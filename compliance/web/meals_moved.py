"""What an exchange of dishes moves: figures before and after."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from compliance.web.meals_said import found_words, where
from menus.mealpattern.patterns.amount import Stands
from menus.mealpattern.patterns.judge import Judged

NOW = {Stands.MET: "met", Stands.SHORT: "short", Stands.OVER: "over", Stands.UNKNOWN: "not known"}


@dataclass(frozen=True, slots=True)
class Moved:
    """One figure. `turns` says how it stands now, where that is another way than before."""

    where: str
    what: str
    before: str
    after: str
    unit: str
    turns: str
    worse: bool


def moved(before: Iterable[Judged], after: Iterable[Judged], days: Sequence[date]) -> list[Moved]:
    """Return what moved, days first; what turns comes before what only moves."""
    known = {(each.rule.id, each.day, each.food): each for each in before}
    found = [
        _moved(old, new, days)
        for new in after
        if (old := known.get((new.rule.id, new.day, new.food))) and (old.amount, old.stands) != (new.amount, new.stands)
    ]
    return sorted(_once(found), key=lambda each: not each.turns)


def _once(found: Iterable[Moved]) -> list[Moved]:
    """Say once what moves under two figures, the one to reach and the one not to pass: as it turns, where it does."""
    kept: dict[tuple[str, str, str, str], Moved] = {}
    for each in found:
        place = (each.where, each.what, each.before, each.after)
        if place not in kept or (each.turns and not kept[place].turns) or (each.worse and not kept[place].worse):
            kept[place] = each
    return list(kept.values())


def _moved(old: Judged, new: Judged, days: Sequence[date]) -> Moved:
    turned = new.stands is not old.stands
    return Moved(
        where=where(new.day, days),
        what=new.rule.what,
        before=found_words(old.amount, old.rule.unit),
        after=found_words(new.amount, new.rule.unit),
        unit=new.rule.unit,
        turns=f"{NOW[old.stands]} before, {NOW[new.stands]} now" if turned else "",
        worse=turned and new.stands is not Stands.MET,
    )
