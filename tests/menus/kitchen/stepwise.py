"""Carry-over the slow way: every residue by itself, followed step by step. Only the events are the engine's.

Written for the tests alone, from the rules in words: what touched at one minute touched in an order that nobody knows;
a cleaning counts when it works on that material and nothing touches the surface at that minute; a covered dish is
spared what a stay brings; nothing changes a dish after its serving.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import permutations

from menus.kitchen.events import Clean, Contact, Cover, Event, How, Reserve, Serve, Stay, Uncover, Use
from menus.kitchen.trace import Link

WORKS = {
    # Perry et al. 2004: soap and water or wipes on hands, cleaners on tables. FARE 2020: wash, rinse, air dry.
    ("wash_rinse_sanitize", "non_porous"),
    ("wash_rinse", "non_porous"),
    ("commercial_cleaner_wipe", "non_porous"),
    ("soap_water_hands", "hands"),
    # Common practice, no source: a fryer only by fresh oil in a washed vat.
    ("oil_change_and_vat_wash", "fryer_oil"),
}

Node = tuple[str, int]
Place = tuple[Node, How]  # where a residue is, and in the surest case how it came there


def stepwise(
    events: Iterable[Event], materials: dict[int, str], dishes: dict[int, set[str]], airborne: set[str]
) -> dict[int, dict[str, How]]:
    """Return what came to each dish that is not its own, and how."""
    events = list(events)
    arrived: dict[int, dict[str, How]] = {dish: {} for dish in dishes}
    for thing in {thing for things in dishes.values() for thing in things}:
        owners = {dish for dish, things in dishes.items() if thing in things}
        for dish, ways in _follow(events, materials, dishes, owners, thing in airborne).items():
            if ways and dish not in owners:
                arrived[dish][thing] = min(ways)
    return arrived


def _follow(
    events: list[Event], materials: dict[int, str], dishes: Iterable[int], owners: set[int], flies: bool
) -> dict[int, set[How]]:
    places: set[Place] = {(("dish", dish), How.TOUCH) for dish in owners}
    served: dict[int, set[How]] = {}
    covered: set[int] = set()
    for now in sorted({event.at for event in events}):
        moment = [event for event in events if event.at == now]
        covered -= {event.dish for event in moment if isinstance(event, Uncover)}
        staying = [event for event in events if isinstance(event, Stay) and event.at <= now <= event.until]
        touches = list(_touches(moment, [stay for stay in staying if stay.dish not in covered]))
        for event in moment:
            if isinstance(event, Clean) and (event.method, materials[event.surface]) in WORKS:
                surface = ("surface", event.surface)
                if not any(surface in pair for pair in touches):
                    places = {place for place in places if place[0] != surface}
        places = _spread(places, touches, list(_reaches(staying, covered)), flies)
        opened = {event.dish for event in moment if isinstance(event, Uncover)}
        covered |= {event.dish for event in moment if isinstance(event, Cover)} - opened
        for event in moment:
            if isinstance(event, Serve):
                served[event.dish] = _ways(places, event.dish)
    return {dish: served.get(dish, _ways(places, dish)) for dish in dishes}


def _ways(places: set[Place], dish: int) -> set[How]:
    return {how for node, how in places if node == ("dish", dish)}


def _touches(moment: list[Event], stays: list[Stay]) -> Iterator[tuple[Node, Node]]:
    for event in moment:
        if isinstance(event, Use):
            yield ("dish", event.dish), ("surface", event.surface)
        elif isinstance(event, Contact):
            yield ("surface", event.surface), ("surface", event.other)
        elif isinstance(event, Reserve):
            yield ("dish", event.dish), ("dish", event.portion)
    for stay in stays:
        if stay.how is How.TOUCH:
            yield ("dish", stay.dish), ("surface", stay.surface)


def _reaches(stays: list[Stay], covered: set[int]) -> Iterator[tuple[Node, Node, How]]:
    """From which dish to which other, through the air or by a splash."""
    for taker, giver in permutations(stays, 2):
        beside = taker.surface == giver.surface and taker.dish != giver.dish
        open_to_it = taker.how is How.NEAR and taker.dish not in covered
        gives = giver.how is How.AIR or (giver.how is How.NEAR and giver.dish not in covered)
        if beside and open_to_it and gives:
            yield ("dish", giver.dish), ("dish", taker.dish), giver.how


def _spread(
    places: set[Place], touches: list[tuple[Node, Node]], reaches: list[tuple[Node, Node, How]], flies: bool
) -> set[Place]:
    """Take one step after the other until no step leads anywhere new."""
    places = set(places)
    while True:
        steps = {
            (there, how)
            for pair in touches
            for here, there in (pair, pair[::-1])
            for node, how in places
            if node == here
        }
        steps |= {
            (there, max(how, way))
            for here, there, way in reaches
            for node, how in places
            if node == here and (flies or way is not How.AIR)
        }
        if steps <= places:
            return places
        places |= steps


def holds_up(
    thing: str,
    dish: int,
    chain: Sequence[Link],
    events: list[Event],
    materials: dict[int, str],
    dishes: dict[int, set[str]],
) -> bool:
    """Tell whether a chain could have happened: it begins with a dish that has the thing, every link is a touch or a
    stay of that time, times only go forward, and no cleaning that works and counts comes within a link.
    """
    if not chain:  # a portion that was set apart has what its dish had, by no surface
        return any(isinstance(event, Reserve) and dish in (event.dish, event.portion) for event in events)
    times = [time for link in chain for time in (link.at, link.taken)]
    return (
        times == sorted(times)
        and chain[0].dish is not None
        and (thing in dishes[chain[0].dish] or any(isinstance(event, Reserve) for event in events))
        and all(any(_leaves(event, link) for event in events) for link in chain)
        and not any(_ends(event, link, events, materials) for link in chain for event in events)
    )


def _leaves(event: Event, link: Link) -> bool:
    """Whether this event put it there."""
    if not _is_at(event, link.at):
        return False
    if link.dish is None:
        return isinstance(event, Contact) and link.surface in (event.surface, event.other)
    if isinstance(event, Stay):
        return event.dish == link.dish and event.surface == link.surface and event.how is link.how
    return isinstance(event, Use) and event.dish == link.dish and event.surface == link.surface


def _ends(event: Event, link: Link, events: list[Event], materials: dict[int, str]) -> bool:
    return (
        isinstance(event, Clean)
        and event.surface == link.surface
        and link.at < event.at < link.taken
        and (event.method, materials[link.surface]) in WORKS
        and not any(link.surface in _surfaces(other) and _is_at(other, event.at) for other in events)
    )


def _surfaces(event: Event) -> set[int]:
    if isinstance(event, Contact):
        return {event.surface, event.other}
    if isinstance(event, Use) or (isinstance(event, Stay) and event.how is How.TOUCH):
        return {event.surface}
    return set()


def _is_at(event: Event, at: datetime) -> bool:
    return event.at <= at <= event.until if isinstance(event, Stay) else event.at == at
