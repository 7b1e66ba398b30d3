"""What an order of work means for children: the exceptions that it makes go, come, or stay, by the rules themselves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from compliance.checks.children import children_at, periods
from compliance.checks.dayline import batch_key
from compliance.checks.facts import Facts
from compliance.checks.prepare import work
from compliance.checks.reasons import Reason, reason_of
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, Verdict
from menus.kitchen.recipes import Pieces
from menus.models import Serving, Site
from menus.substances.catalogue import Catalogue
from roster.models import Child, Classroom, Enrolment, Restriction


@dataclass(frozen=True, slots=True)
class Met:
    """A child meets a dish with an outcome, for one restriction."""

    serving: Serving
    classroom: Classroom
    child: Child
    restriction: Restriction
    outcome: Outcome
    reasons: tuple[Reason, ...]

    @property
    def substance_name(self) -> str:
        """What is avoided, as people say it."""
        return Catalogue.load().get(self.restriction.substance).name

    @property
    def carried(self) -> tuple[Reason, ...]:
        """The reasons that the order of work has a part in."""
        return tuple(reason for reason in self.reasons if not reason.allowed and reason.ref_of("surface"))


Key = tuple[int, int]
"""Serving and restriction."""


@dataclass(frozen=True, slots=True)
class Turn:
    """The graver of two outcomes, as it is met by one order of work, and the milder one by the other."""

    met: Met
    other: Outcome


@dataclass(frozen=True, slots=True)
class Effect:
    """What changes when one order of work takes the place of another."""

    gone: tuple[Turn, ...]  # are no more, or are milder
    new: tuple[Turn, ...]  # were not, or were milder
    stay: tuple[Met, ...]  # still there, by carry-over


def effect(before: Mapping[Key, Met], after: Mapping[Key, Met]) -> Effect:
    """Compare two orders of work by whom each concerns."""
    return Effect(
        gone=_graver(before, after),
        new=_graver(after, before),
        stay=tuple(met for met in after.values() if met.carried),
    )


def _graver(one: Mapping[Key, Met], other: Mapping[Key, Met]) -> tuple[Turn, ...]:
    turns = (Turn(met, other[key].outcome if key in other else Outcome.NONE_FOUND) for key, met in one.items())
    return tuple(turn for turn in turns if turn.met.outcome > turn.other)


def met_by(facts: Facts, today: date, first: date, last: date) -> dict[Key, Met]:
    """Return what the order of work in these facts means for every child between two days.

    Those are the children of the site, and those of others for what its kitchen cooks for them. Three queries for each
    site, whatever its size.
    """
    dishes = work(facts, today).carried()
    found: dict[Key, Met] = {}
    servings = [each for each in [*facts.servings, *_cooked_for_others(facts)] if first <= each.date <= last]
    for site in {each.site for each in servings}:
        prepared = _by_serving(facts, dishes, [each for each in servings if each.site == site])
        here = [each for each in servings if each.pk in prepared]
        found |= _met_at(site, here, prepared, facts, (first, last))
    return found


def _cooked_for_others(facts: Facts) -> list[Serving]:
    [own] = (kitchen for kitchen in facts.kitchens if kitchen.site == facts.site)
    return [each for each in facts.others if batch_key(each) in own.batches]


def _by_serving(facts: Facts, dishes: Mapping[int, Pieces], servings: Iterable[Serving]) -> dict[int, Pieces]:
    """What every serving gets: its batch's, where another serving stands for the batch.

    What another site eats and no line of these kitchens tells of is left out: no order of work here bears on it.
    """
    batches = {key: each.pk for kitchen in facts.kitchens for key, each in kitchen.batches.items()}
    stands_for = {each.pk: each.pk if each.pk in dishes else batches.get(batch_key(each), each.pk) for each in servings}
    return {serving: dishes[batch] for serving, batch in stands_for.items() if batch in dishes}


def _met_at(
    site: Site, servings: list[Serving], dishes: Mapping[int, Pieces], facts: Facts, days: tuple[date, date]
) -> dict[Key, Met]:
    children = children_at(site, *days)
    spans = periods(children, *days, facts.at)
    rooms: dict[int, list[Enrolment]] = {}
    enrolled = Enrolment.objects.during(*days).filter(child__in=children, classroom__site=site)
    for enrolment in enrolled.select_related("classroom__site"):
        rooms.setdefault(enrolment.child_id, []).append(enrolment)
    # Dishes with the same pieces are judged once.
    place = {pieces: n for n, pieces in enumerate(dict.fromkeys(dishes[each.pk] for each in servings))}
    kinds = dict.fromkeys(span.type for span in spans)
    verdicts = {(n, kind): judge(kind, pieces) for pieces, n in place.items() for kind in kinds}
    at = {each.pk: place[dishes[each.pk]] for each in servings}
    found: dict[Key, Met] = {}
    for serving in servings:
        for span in spans:
            verdict = verdicts[at[serving.pk], span.type]
            room = _room(rooms.get(span.restriction.child_id, []), serving.date)
            if verdict.outcome > Outcome.NONE_FOUND and room and span.first <= serving.date <= span.last:
                found[serving.pk, span.restriction.pk] = _met(serving, room, span.restriction, verdict)
    return found


def _room(enrolments: Iterable[Enrolment], day: date) -> Classroom | None:
    return next((each.classroom for each in enrolments if each.holds_on(day)), None)


def _met(serving: Serving, room: Classroom, restriction: Restriction, verdict: Verdict) -> Met:
    why = tuple(map(reason_of, verdict.findings))
    return Met(serving, room, restriction.child, restriction, verdict.outcome, why)
