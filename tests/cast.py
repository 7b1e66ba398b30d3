"""The named cast: a tiny world with children, staff and dishes that one remembers.

`assemble()` writes it to the database; the fixture `cast` does so for one test. `tests/conftest.py` loads the fixture.

Ferrowick Elementary School, classroom Larks, lunch today:

| child  | may not have        | strictness | basis                | meets                                        |
|--------|---------------------|------------|----------------------|----------------------------------------------|
| Noor   | gluten (coeliac)    | trace      | signed statement     | peanut sandwich, oat bar                     |
| Mateo  | peanut              | trace      | signed statement     | peanut sandwich                              |
| Anneke | milk                | trace      | signed statement     | oat bar (may contain milk)                   |
| Ifeoma | cashew              | trace      | signed statement     | oat bar (may contain tree nuts)              |
| Yusuf  | pork                | ingredient | religious            | ham and rice                                 |
| Saoirse| meat                | ingredient | ethical              | ham and rice                                 |
| Kofi   | sesame, egg         | trace      | reported, not signed | nothing today                                |
| Bao    | nothing             |            |                      | nothing: the control                         |

Tansy Gate Daycare, classroom Minnows, snack today:

| child  | may not have | strictness | basis                | meets                                         |
|--------|--------------|------------|----------------------|-----------------------------------------------|
| Ravi   | milk         | trace      | signed statement     | yogurt cup                                    |
| Petra  | kiwi         | trace      | reported, not signed | nothing today                                 |

Staff: Rosa teaches Larks and Dmitri teaches Minnows (each an outsider to the other's class); Greta cooks at Ferrowick
and Pavel at Tansy Gate; Tomas manages the kitchen of Ferrowick; Sefa stands in for Rosa today; Hakim is the nurse, June
the administrator and Ursula the auditor, all three of all sites; Amara is Noor's mother; Wren has an account, no post.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from menus.models import Meal, Product, Recipe, Serving, Site
from roster.enrolling import enrol
from roster.models import Basis, Child, Classroom, Role, Strictness, User, Verb
from roster.record.together import as_one
from roster.services import record_restriction
from tests.factories import (
    ChildFactory,
    ClassroomFactory,
    PostFactory,
    ServingFactory,
    SiteFactory,
    UserFactory,
    cooked,
    labelled,
)


@dataclass(frozen=True)
class Places:
    """Where the cast is."""

    ferrowick: Site
    larks: Classroom
    tansy_gate: Site
    minnows: Classroom


@dataclass(frozen=True)
class Staff:
    """Who works there, each with the password of the factories."""

    rosa: User
    dmitri: User
    greta: User
    pavel: User
    hakim: User
    june: User
    wren: User
    tomas: User
    sefa: User
    ursula: User
    amara: User


@dataclass(frozen=True)
class Children:
    """Who eats there."""

    noor: Child
    mateo: Child
    anneke: Child
    ifeoma: Child
    yusuf: Child
    saoirse: Child
    kofi: Child
    bao: Child
    ravi: Child
    petra: Child


@dataclass(frozen=True)
class Larder:
    """What the kitchens buy."""

    bread: Product
    peanut_butter: Product
    oat_bar: Product
    ham: Product
    rice: Product
    yogurt: Product


@dataclass(frozen=True)
class Dishes:
    """What they cook of it."""

    peanut_sandwich: Recipe
    oat_bar: Recipe
    ham_and_rice: Recipe
    yogurt_cup: Recipe


@dataclass(frozen=True)
class Cast(Places, Staff, Children):
    """Everybody by name, with the larder, the dishes and today's servings."""

    larder: Larder
    dishes: Dishes
    servings: tuple[Serving, ...]


@pytest.fixture
def cast(db: None) -> Cast:
    """The whole cast, in the database."""
    return assemble()


@as_one(Verb.RECORDED, "the cast")
def assemble() -> Cast:
    """Write the cast to the database and return it."""
    places = _places()
    larder = _larder()
    dishes = _dishes(larder)
    servings = (
        *(
            ServingFactory.create(site=places.ferrowick, recipe=recipe)
            for recipe in (dishes.peanut_sandwich, dishes.oat_bar, dishes.ham_and_rice)
        ),
        ServingFactory.create(site=places.tansy_gate, meal=Meal.SNACK, recipe=dishes.yogurt_cup),
    )
    staff, children = _staff(places), _children(places)
    _post(staff.amara, Role.GUARDIAN, child=children.noor)
    return Cast(**vars(places), **vars(staff), **vars(children), larder=larder, dishes=dishes, servings=servings)


def _places() -> Places:
    ferrowick = SiteFactory.create(code="ferrowick", name="Ferrowick Elementary School")
    tansy_gate = SiteFactory.create(code="tansy-gate", name="Tansy Gate Daycare")
    return Places(
        ferrowick=ferrowick,
        larks=ClassroomFactory.create(site=ferrowick, name="Larks", grade="KG"),
        tansy_gate=tansy_gate,
        minnows=ClassroomFactory.create(site=tansy_gate, name="Minnows", grade="PK"),
    )


def _staff(places: Places) -> Staff:
    today = timezone.now().date()  # by the clock of the sites, which is UTC
    return Staff(
        rosa=_member("Rosa", Role.TEACHER, classroom=places.larks),
        dmitri=_member("Dmitri", Role.TEACHER, classroom=places.minnows),
        greta=_member("Greta", Role.KITCHEN, site=places.ferrowick),
        pavel=_member("Pavel", Role.KITCHEN, site=places.tansy_gate),
        hakim=_member("Hakim", Role.LICENSED),
        june=_member("June", Role.ADMINISTRATOR),
        wren=_person("Wren"),
        tomas=_member("Tomas", Role.MANAGER, site=places.ferrowick),
        sefa=_member("Sefa", Role.SUBSTITUTE, classroom=places.larks, starts_on=today, ends_on=today),
        ursula=_member("Ursula", Role.AUDITOR),
        amara=_person("Amara"),
    )


def _person(name: str) -> User:
    return UserFactory.create(username=name.lower(), first_name=name)


def _member(name: str, role: Role, **post: Any) -> User:
    user = _person(name)
    _post(user, role, **post)
    return user


def _post(user: User, role: Role, **post: Any) -> None:
    PostFactory.create(user=user, role=role, **{"site": None, "classroom": None} | post)


def _children(places: Places) -> Children:
    lark, minnow = places.larks, places.minnows
    signed, reported, plain = Basis.STATEMENT, Basis.REPORTED, Strictness.INGREDIENT
    return Children(
        noor=_child("Noor", lark, ("gluten", signed)),
        mateo=_child("Mateo", lark, ("peanut", signed)),
        anneke=_child("Anneke", lark, ("milk", signed)),
        ifeoma=_child("Ifeoma", lark, ("tree-nut.cashew", signed)),
        yusuf=_child("Yusuf", lark, ("pork", Basis.RELIGIOUS), strictness=plain),
        saoirse=_child("Saoirse", lark, ("meat", Basis.ETHICAL), strictness=plain),
        kofi=_child("Kofi", lark, ("sesame", reported), ("egg", reported)),
        bao=_child("Bao", lark),
        ravi=_child("Ravi", minnow, ("milk", signed)),
        petra=_child("Petra", minnow, ("kiwi", reported)),
    )


def _child(
    name: str, classroom: Classroom, *restrictions: tuple[str, Basis], strictness: Strictness = Strictness.TRACE
) -> Child:
    child = ChildFactory.create(given_name=name)
    enrol(child=child, classroom=classroom, starts_on=timezone.localdate() - timedelta(days=30))
    for substance, basis in restrictions:
        record_restriction(child=child, substance=substance, basis=basis, strictness=strictness)
    return child


def _larder() -> Larder:
    return Larder(
        bread=labelled("whole wheat flour, water, yeast, salt", name="Sandwich bread", label={"contains": "Wheat."}),
        peanut_butter=labelled("roasted peanuts, salt", name="Peanut butter", label={"contains": "Peanuts."}),
        oat_bar=labelled(
            "rolled oats, date paste, apple juice concentrate",
            name="Oat bar",
            label={"precautionary": "May contain milk and tree nuts."},
        ),
        ham=labelled("pork, water, salt, sugar, sodium nitrite", name="Ham"),
        rice=labelled("long grain rice", name="Rice"),
        yogurt=labelled("cultured whole milk, sugar", name="Yogurt", label={"contains": "Milk."}),
    )


def _dishes(larder: Larder) -> Dishes:
    return Dishes(
        peanut_sandwich=cooked("Peanut butter sandwich", larder.bread, larder.peanut_butter),
        oat_bar=cooked("Oat bar", larder.oat_bar),
        ham_and_rice=cooked("Ham and rice", larder.ham, larder.rice),
        yogurt_cup=cooked("Yogurt cup", larder.yogurt),
    )
