"""Deal invented children their names, birthdays and restrictions. Seeded: the same input, the same children."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

ALLERGIC_PER_THOUSAND = 76
"""Children with a current food allergy (Gupta 2018, Pediatrics 142(6): 7.6 %)."""
SEVERAL_PER_THOUSAND = 399
"""Of these, how many have more than one (same source: 39.9 %)."""


@dataclass(frozen=True, slots=True)
class Profile:
    """One row of the prevalence table. The n-th child who gets it gets the n-th variant of its substances."""

    name: str
    allergy: bool
    variants: tuple[tuple[str, ...], ...]
    per_thousand: int
    strictness: str
    basis: str

    def count(self, children: int) -> int:
        """How many of so many children have it, halves rounded up."""
        return _share(children, self.per_thousand)

    def variant(self, n: int) -> tuple[str, ...]:
        """Substances of the n-th child who has it, from 0."""
        return self.variants[n % len(self.variants)]


@dataclass(frozen=True, slots=True)
class Dealt:
    """One child's share: a profile, and the substances of its variant."""

    profile: Profile
    substances: tuple[str, ...]


def deal_restrictions(children: int, profiles: Sequence[Profile], random: Random) -> list[list[Dealt]]:
    """Return for each child what it may not have, each profile as often as its prevalence says.

    Allergies meet in the share of allergic children that have several; other restrictions go to other children.
    """
    order = list(range(children))
    random.shuffle(order)
    hands: list[list[Profile]] = [[] for _ in range(children)]
    allergic = order[: _share(children, ALLERGIC_PER_THOUSAND)]
    _deal_allergies(hands, allergic, _cards(profiles, children, allergy=True, random=random))
    for child, profile in zip(
        order[len(allergic) :], _cards(profiles, children, allergy=False, random=random), strict=False
    ):
        hands[child].append(profile)
    return _with_variants(hands)


def deal_names(children: int, given: Sequence[str], family: Sequence[str], random: Random) -> list[tuple[str, str]]:
    """Return so many different full names."""
    names: dict[tuple[str, str], None] = {}
    while len(names) < children:
        names[random.choice(given), random.choice(family)] = None
    return list(names)


def deal_birthday(age: int, september: date, random: Random) -> date:
    """Return a birthday of a child who is so many years old on that first of September."""
    latest = september.replace(year=september.year - age)
    return latest - timedelta(days=random.randrange(365))


def _share(whole: int, per_thousand: int) -> int:
    return (whole * per_thousand + 500) // 1000


def _cards(profiles: Sequence[Profile], children: int, *, allergy: bool, random: Random) -> list[Profile]:
    cards = [each for each in profiles if each.allergy is allergy for _ in range(each.count(children))]
    random.shuffle(cards)
    return cards


def _deal_allergies(hands: list[list[Profile]], allergic: Sequence[int], cards: list[Profile]) -> None:
    """Give everyone one card, then the rest in turn to those who have several."""
    several = allergic[: _share(len(allergic), SEVERAL_PER_THOUSAND)]
    for child, profile in zip(allergic, cards, strict=False):
        hands[child].append(profile)
    for turn, profile in enumerate(cards[len(allergic) :]):
        seats = [several[(turn + step) % len(several)] for step in range(len(several))]
        hands[next(child for child in seats if profile not in hands[child])].append(profile)


def _with_variants(hands: list[list[Profile]]) -> list[list[Dealt]]:
    times: dict[str, int] = {}

    def each(hand: list[Profile]) -> Iterator[Dealt]:
        for profile in hand:
            n = times.get(profile.name, 0)
            times[profile.name] = n + 1
            yield Dealt(profile, profile.variant(n))

    return [list(each(hand)) for hand in hands]
