"""Which role may do what with which thing, said once. Row by row, roster.access says with which of them."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from roster.models import Post, Role

T, S, K, M = Role.TEACHER, Role.SUBSTITUTE, Role.KITCHEN, Role.MANAGER
L, A, U, G = Role.LICENSED, Role.ADMINISTRATOR, Role.AUDITOR, Role.GUARDIAN

IN_CLASS = (T, S)
IN_KITCHEN = (K, M)
SITE_WIDE = (*IN_KITCHEN, L, A)


class Act(StrEnum):
    """What is done with a thing."""

    READ = "read"
    ADD = "add"
    CHANGE = "change"
    SIGN = "sign"
    EXPORT = "export"
    IMPORT = "import"


class Thing(StrEnum):
    """What there is to read or to change, in the words that the table of access shows."""

    CLASS_DAY = "a class's day: what each child must not be given"
    TREAT_CHECK = "treat checks"
    MENU = "cycle menus, servings and their outcomes"
    MEALS = "what the meals of a week credit"
    NUTRITION = "drinks in place of milk, and protein"
    ORDER_OF_WORK = "order of work"
    WHOLE_MEALS = "meals for children with restrictions, and dishes on hand"
    KITCHEN_DAY = "what was done in the kitchen"
    PRODUCT = "products and their labels"
    WORD = "words of the lexicon"
    FOOD_FILE = "files of products, recipes and cycle menus"
    EXCEPTION = "exceptions"
    RUN = "runs"
    NIGHT = "how the nights went, and work that was given up"
    MAIL = "mail that waits or was given up"
    REFERRAL = "referrals"
    CHILD_NAMES = "names of children"
    REPORT = "reports about a child"
    MEDICAL = "restrictions, statements and allowances of a child"
    BASIS = "on whose word a restriction rests"
    RESTRICTION_FILE = "files of restrictions"
    ROSTER_FILE = "files of the roster"
    HEALTH_FILE = "files of health records"
    COPY = "a copy of a child's record, for its guardian"
    EMERGENCY = "where a child's plan and medication are kept"
    ROOM_SHEET = "sheets for a room"
    INCIDENT = "incidents"
    OWN_CHILD = "own child"
    LUNCHBOX = "lunchboxes from home"
    APPROVAL = "products approved for a room"
    GUARDIAN_ENTRY = "what guardians sent in"
    STAFF = "people who sign in, and their posts"
    SITE = "settings of a site"
    RECORD = "record of actions"


class Permit(NamedTuple):
    """One act on one thing."""

    thing: Thing
    act: Act


PERMITS: dict[Thing, dict[Act, tuple[Role, ...]]] = {
    Thing.CLASS_DAY: {Act.READ: (*IN_CLASS, *SITE_WIDE)},
    Thing.TREAT_CHECK: {Act.READ: (*IN_CLASS, *SITE_WIDE), Act.ADD: (*IN_CLASS, *SITE_WIDE)},
    Thing.MENU: {Act.READ: SITE_WIDE, Act.CHANGE: SITE_WIDE},
    Thing.MEALS: {Act.READ: (*IN_CLASS, *SITE_WIDE)},
    Thing.NUTRITION: {Act.READ: (L,)},
    Thing.ORDER_OF_WORK: {Act.READ: SITE_WIDE, Act.CHANGE: SITE_WIDE},
    Thing.WHOLE_MEALS: {
        Act.READ: SITE_WIDE,
        Act.ADD: (*IN_KITCHEN, L),
        Act.CHANGE: (*IN_KITCHEN, L),
        Act.EXPORT: (*IN_KITCHEN, L),
    },
    Thing.KITCHEN_DAY: {Act.READ: SITE_WIDE, Act.ADD: IN_KITCHEN},
    Thing.PRODUCT: {Act.READ: SITE_WIDE, Act.ADD: SITE_WIDE},
    Thing.WORD: {Act.READ: SITE_WIDE, Act.ADD: SITE_WIDE, Act.SIGN: (L,)},
    Thing.FOOD_FILE: {Act.IMPORT: (M, L, A)},
    Thing.EXCEPTION: {Act.READ: (M, L, A), Act.EXPORT: (L, A)},
    Thing.RUN: {Act.READ: (L, A), Act.CHANGE: (L, A)},
    Thing.NIGHT: {Act.READ: (A,), Act.CHANGE: (A,)},
    Thing.MAIL: {Act.READ: (A,), Act.CHANGE: (A,)},
    Thing.REFERRAL: {Act.READ: (L,), Act.SIGN: (L,)},
    Thing.CHILD_NAMES: {Act.READ: (T, L, A)},
    Thing.REPORT: {Act.ADD: (T, L, A)},
    Thing.MEDICAL: {Act.READ: (L,), Act.SIGN: (L,), Act.EXPORT: (L,)},
    Thing.BASIS: {Act.READ: (L, A)},
    Thing.RESTRICTION_FILE: {Act.IMPORT: (L, A)},
    Thing.ROSTER_FILE: {Act.IMPORT: (A,)},
    Thing.HEALTH_FILE: {Act.IMPORT: (L,)},
    Thing.COPY: {Act.EXPORT: (L, G)},
    Thing.EMERGENCY: {Act.READ: (*IN_CLASS, *SITE_WIDE), Act.CHANGE: (L,)},
    Thing.ROOM_SHEET: {Act.READ: (*IN_CLASS, M, L, A)},
    Thing.INCIDENT: {Act.READ: (L, A), Act.ADD: (T, S, *SITE_WIDE)},
    Thing.LUNCHBOX: {Act.READ: (L, G), Act.ADD: (L, G)},
    Thing.APPROVAL: {Act.READ: (*IN_CLASS, *SITE_WIDE), Act.CHANGE: (L, A)},
    Thing.OWN_CHILD: {Act.READ: (G,), Act.ADD: (G,)},
    Thing.GUARDIAN_ENTRY: {Act.READ: (L,), Act.SIGN: (L,)},
    Thing.STAFF: {Act.READ: (A,), Act.CHANGE: (A,)},
    Thing.SITE: {Act.CHANGE: (A,)},
    Thing.RECORD: {Act.READ: (U,), Act.EXPORT: (U,)},
}

BY_GRANT = frozenset({Permit(Thing.MEDICAL, Act.READ)})
"""What an administrator has only with a post to which the medical text was granted."""


def roles_with(permit: Permit) -> tuple[Role, ...]:
    """Return the roles that hold the permit by themselves.

    Raises KeyError for an act that nobody may do with the thing: an address of that kind must not exist.
    """
    return PERMITS[permit.thing][permit.act]


def holds(post: Post, permit: Permit) -> bool:
    """Tell whether the post brings the permit."""
    return post.role in roles_with(permit) or (post.reads_medical and permit in BY_GRANT)
