"""The demo's people: classrooms, children, what they may not have, staff and allowances."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from random import Random
from typing import Any

from django.contrib.auth.hashers import make_password

from compliance.demo.deal import Dealt, Profile, deal_birthday, deal_names, deal_restrictions
from compliance.demo.files import Row, rows
from compliance.demo.papers import papers
from menus.labels.evidence import Kind
from menus.models import Product, Site
from roster.enrolling import enrol
from roster.models import Basis, Child, Classroom, Post, Restriction, User
from roster.services import record_restriction, sign_allowance

Rooms = dict[tuple[str, str], Classroom]

SEED = "four weeks of porridge"
UNSIGNED_EVERY = 6  # each so-manieth child with a medical restriction still waits for the signature
REPORTED = "Told by the family at enrolment. The signed statement was asked for."


def load_classrooms(sites: dict[str, Site]) -> Rooms:
    """Write the classrooms."""
    rooms: Rooms = {}
    for row in rows("classrooms.csv"):
        room = Classroom(site=sites[row["site"]], name=row["name"], grade=row["grade"])
        room.full_clean()
        room.save()
        rooms[row["site"], row["name"]] = room
    return rooms


def load_staff(sites: dict[str, Site], rooms: Rooms, *, password: str, today: date) -> dict[str, User]:
    """Write the accounts, all with one password, and their posts. Returns the accounts by user name."""
    hashed = make_password(password)
    staff: dict[str, User] = {}
    for row in rows("staff.csv"):
        user = account(row, hashed)
        _post(row, user, sites, rooms, today)
        staff[user.username] = user
    return staff


def account(row: Row, hashed: str) -> User:
    """Write the account of a row, with the password as hashed."""
    user = User(
        username=row["username"],
        first_name=row["given_name"],
        last_name=row["family_name"],
        email=f"{row['username']}@example.org",
        password=hashed,
    )
    user.full_clean()
    user.save()
    return user


def _post(row: Row, user: User, sites: dict[str, Site], rooms: Rooms, today: date) -> None:
    first, last = (today + timedelta(days=int(row[day])) if row[day] else None for day in ("from_day", "to_day"))
    post = Post(user=user, role=row["role"], starts_on=first, ends_on=last)
    if row["classroom"]:
        post.classroom = rooms[row["site"], row["classroom"]]
    elif row["site"]:
        post.site = sites[row["site"]]
    post.full_clean()
    post.save()


def load_children(rooms: Rooms, *, today: date, recorded_by: User) -> None:
    """Write the children of the school year that today falls in, with their enrolments and restrictions."""
    random = Random(SEED)
    september = date(today.year if today.month >= 9 else today.year - 1, 9, 1)
    children = list(_children(rooms, september, random))
    hands = deal_restrictions(len(children), profiles(), random)
    medical, signed = 0, 0
    for child, hand in zip(children, hands, strict=True):
        under: dict[str, Any] = {}
        if any(dealt.profile.basis == Basis.STATEMENT for dealt in hand):
            medical += 1
            if medical % UNSIGNED_EVERY:
                signed += 1
                under = papers(child, signed, today=today, nurse=recorded_by)
        for dealt in hand:
            _restrict(child, dealt, under, recorded_by)


def profiles() -> list[Profile]:
    """Return the prevalence table."""
    return [
        Profile(
            name=row["profile"],
            allergy=row["kind"] == "allergy",
            variants=tuple(
                tuple(code.strip() for code in variant.split(";")) for variant in row["substances"].split("|")
            ),
            per_thousand=int(row["per_thousand"]),
            strictness=row["strictness"],
            basis=row["basis"],
        )
        for row in rows("restrictions.csv")
    ]


def _children(rooms: Rooms, september: date, random: Random) -> Iterator[Child]:
    table = rows("classrooms.csv")
    names = iter(deal_names(sum(int(row["children"]) for row in table), _names("given"), _names("family"), random))
    for row in table:
        for _ in range(int(row["children"])):
            given, family = next(names)
            birthday = deal_birthday(int(row["age_in_september"]), september, random)
            child = Child(given_name=given, family_name=family, birth_date=birthday)
            child.full_clean()
            child.save()
            enrol(child=child, classroom=rooms[row["site"], row["name"]], starts_on=september)
            yield child


def _names(kind: str) -> Sequence[str]:
    return [row["name"] for row in rows("names.csv") if row["kind"] == kind]


def _restrict(child: Child, dealt: Dealt, under: dict[str, Any], recorded_by: User) -> None:
    """Record what was dealt to the child, under its statement where there is one and it is a matter of health."""
    basis, fields = dealt.profile.basis, {}
    if basis == Basis.STATEMENT and under:
        fields = under
    elif basis == Basis.STATEMENT:
        basis = Basis.REPORTED
    for substance in dealt.substances:
        record_restriction(
            child=child,
            substance=substance,
            strictness=dealt.profile.strictness,
            basis=basis,
            note=REPORTED if basis == Basis.REPORTED else "",
            recorded_by=recorded_by,
            **fields,
        )


def load_allowances(*, today: date, signed_by: User) -> None:
    """Write each allowance of the file for the first child with a signed restriction on its substance."""
    for row in rows("allowances.csv"):
        product = Product.objects.get(code=row["product"]) if row["product"] else None
        starts_on = today - timedelta(days=int(row["starts_days_ago"]))
        signed = Restriction.objects.filter(substance=row["substance"], basis=Basis.STATEMENT)
        sign_allowance(
            restriction=signed.order_by("pk")[0],
            kind=Kind(row["kind"]),
            about="" if product else row["substance"],
            label=product.labels.get() if product else None,
            starts_on=starts_on,
            ends_on=starts_on + timedelta(days=int(row["days"])),
            signed_by=signed_by,
            signature=row["signature"],
        )
