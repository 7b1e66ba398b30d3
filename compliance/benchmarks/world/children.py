"""The district's children, and what they may not have."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random

from compliance.benchmarks.world.food import BATCH
from compliance.benchmarks.world.size import CHILDREN_A_CLASS, Size
from compliance.demo.deal import SEVERAL_PER_THOUSAND, Profile
from compliance.demo.files import rows
from compliance.demo.people import profiles
from menus.labels.evidence import Kind
from menus.models import Label, Site
from roster.models import Allowance, Basis, Child, Classroom, Enrolment, Post, Restriction, Role, User

NURSE = "benchmark-nurse"
"""Licensed at every site: who signs, and who reads."""
RESTRICTED_PER_THOUSAND = 80
"""Children with a restriction: about the share with a current food allergy (Gupta 2018: 7.6 %), rounded up.

Who has which restriction follows the demo's table of prevalence, with its sources and marks.
"""
REFINED_OIL = 0.5
"""Of the children who avoid soy: may have highly refined oil, by a standing answer (invented share)."""
ONE_LABEL = 0.02
"""Of those with a medical restriction: one package's statement was allowed to them (invented share)."""


@dataclass(frozen=True, slots=True)
class _Hand:
    """What one child may not have."""

    child: Child
    profile: Profile
    substances: tuple[str, ...]


def load_children(sites: Sequence[Site], size: Size, *, today: date, recorded_at: datetime) -> None:
    """Write classrooms, children, enrolments, restrictions and allowances, some sites at a time."""
    nurse = User.objects.create(username=NURSE)
    Post.objects.create(user=nurse, role=Role.LICENSED)
    stated = list(Label.objects.exclude(precautionary="").order_by("pk"))
    for begin in range(0, len(sites), 20):
        children = [
            pair
            for number, site in enumerate(sites[begin : begin + 20], start=begin)
            for pair in _site(site, size.at(number), Random(f"children of site {number}"), today)
        ]
        Child.objects.bulk_create([child for child, _ in children], batch_size=BATCH)
        starts_on = today - timedelta(days=60)
        Enrolment.objects.bulk_create(
            [Enrolment(child=child, classroom=room, starts_on=starts_on) for child, room in children],
            batch_size=BATCH,
        )
        _restrict([child for child, _ in children], begin, recorded_at, today, nurse, stated)


def _site(site: Site, count: int, deal: Random, today: date) -> Iterator[tuple[Child, Classroom]]:
    names = rows("names.csv")
    given, family = ([row["name"] for row in names if row["kind"] == kind] for kind in ("given", "family"))
    rooms = Classroom.objects.bulk_create(
        Classroom(site=site, name=f"Room {number + 1}") for number in range(max(1, count // CHILDREN_A_CLASS))
    )
    for number in range(count):
        birth_date = today - timedelta(days=deal.randrange(4 * 365, 12 * 365))
        child = Child(given_name=deal.choice(given), family_name=deal.choice(family), birth_date=birth_date)
        yield child, rooms[number % len(rooms)]


def _restrict(
    children: list[Child], seed: int, recorded_at: datetime, today: date, nurse: User, stated: list[Label]
) -> None:
    deal = Random(f"restrictions {seed}")
    restricted = deal.sample(children, round(len(children) * RESTRICTED_PER_THOUSAND / 1000))
    restrictions = Restriction.objects.bulk_create(
        [
            Restriction(
                child=hand.child,
                substance=substance,
                strictness=hand.profile.strictness,
                basis=hand.profile.basis,
                recorded_at=recorded_at,
            )
            for hand in _dealt(restricted, deal)
            for substance in hand.substances
        ],
        batch_size=BATCH,
    )
    Allowance.objects.bulk_create(
        [each for row in restrictions for each in _allowed(row, recorded_at, today, nurse, stated, deal)],
        batch_size=BATCH,
    )


def _dealt(children: list[Child], deal: Random) -> Iterator[_Hand]:
    known = profiles()
    weights = [profile.per_thousand for profile in known]
    for child in children:
        (profile,) = deal.choices(known, weights)
        held = [profile]
        if profile.allergy and deal.random() * 1000 < SEVERAL_PER_THOUSAND:
            others = [each for each in known if each.allergy and each is not profile]
            held += deal.choices(others, [each.per_thousand for each in others])
        for each in held:
            yield _Hand(child, each, deal.choice(each.variants))


def _allowed(
    restriction: Restriction, recorded_at: datetime, today: date, nurse: User, stated: list[Label], deal: Random
) -> Iterator[Allowance]:
    if restriction.basis not in (Basis.STATEMENT, Basis.REPORTED):
        return
    common = {
        "restriction": restriction,
        "about": restriction.substance,
        "starts_on": today - timedelta(days=30),
        "ends_on": today + timedelta(days=335),
        "signed_by": nurse,
        "signature": "A benchmark, RN",
        "recorded_at": recorded_at,
    }
    if restriction.substance == "soy" and deal.random() < REFINED_OIL:
        yield Allowance(kind=Kind.REFINED_OIL.value, **common)
    if stated and deal.random() < ONE_LABEL:
        yield Allowance(kind=Kind.MAY_CONTAIN.value, label=deal.choice(stated), **common)
