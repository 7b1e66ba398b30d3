"""Whether a day is balanced: food groups, colors of vegetables and fruit, and milk. Advice, never a rule.

The rows of data/balance.csv say what is looked for and who says so. What is not known to credit anything is named, and
is never taken for a food of no group.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from menus.mealpattern.hazards import rows

GREENS = "vegetables.dark_green"
RED_OR_ORANGE = "vegetables.red_orange"
ONE_OF_THEM = "orange or red (one of them is there; the plan does not say which)"
NOTHING = "Nothing is planned."


@dataclass(frozen=True, slots=True)
class BalanceFood:
    """A food of the day: credits by component as check_week takes them, and colors of its vegetables and fruit."""

    name: str
    credits: Mapping[str, float]  # empty: nobody knows what it counts as
    colours: frozenset[str] = frozenset()  # as menus.mealpattern.colours names them


@dataclass(frozen=True, slots=True)
class Advice:
    """One piece of advice, and who says so. `verified` is "read" or "memory"."""

    what: str  # "food groups", "colors", "milk"
    here: tuple[str, ...]  # names of what these foods have
    earlier: tuple[str, ...]  # of what only the meals before them have
    later: tuple[str, ...]  # of what is only still to come that day
    lacks: tuple[str, ...]  # of what the day does not have, later neither
    not_counted: tuple[str, ...]  # foods of which nobody knows what they are: they might hold what is lacking
    source: str
    verified: str

    @property
    def says(self) -> str:
        """The piece in words."""
        foods = ", ".join(f"“{name}”" for name in self.not_counted)
        said = (
            ("Here: %s.", ", ".join(self.here)),
            ("Earlier that day: %s.", ", ".join(self.earlier)),
            ("Later that day: %s.", ", ".join(self.later)),
            ("Not found on the day: %s.", ", ".join(self.lacks)),
            ("Not counted, as it is not known what they credit: %s.", foods),
        )
        return " ".join(sentence % names for sentence, names in said if names) or NOTHING


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What one piece of advice looks for: names by key, in the order of the file."""

    what: str
    names: Mapping[str, str]
    components: Mapping[str, tuple[str, ...]]
    source: str
    verified: str

    def named(self, keys: set[str]) -> tuple[str, ...]:
        """The names of these keys, in the order of the file."""
        return tuple(name for key, name in self.names.items() if key in keys)


def balance(
    foods: Iterable[BalanceFood], later: Iterable[BalanceFood] = (), earlier: Iterable[BalanceFood] = ()
) -> list[Advice]:
    """Return what to think of beside these foods: always one piece each on food groups, colors and milk.

    `later` and `earlier` are the other meals of the same day; they answer for what the foods lack, and are named so.
    """
    here, after, before = tuple(foods), tuple(later), tuple(earlier)
    return [_advice(wanted, here, after, before) for wanted in _wanted()]


def _advice(
    wanted: _Wanted, here: tuple[BalanceFood, ...], after: tuple[BalanceFood, ...], before: tuple[BalanceFood, ...]
) -> Advice:
    have, come, gone = (_found(wanted, foods) for foods in (here, after, before))
    lacks = [name for key, name in wanted.names.items() if key not in have | come | gone]
    if wanted.what == "colors":
        lacks = _without_either(lacks, (*here, *after, *before))
    return Advice(
        wanted.what,
        here=wanted.named(have),
        earlier=wanted.named(gone - have),
        later=wanted.named(come - have - gone),
        lacks=tuple(lacks),
        not_counted=_not_known((*here, *after, *before)) if lacks else (),
        source=wanted.source,
        verified=wanted.verified,
    )


def _found(wanted: _Wanted, foods: Iterable[BalanceFood]) -> set[str]:
    """The keys that the foods fill."""
    found: set[str] = set()
    for food in foods:
        if wanted.what == "colors":
            found |= food.colours & wanted.names.keys()
            found |= {"green"} if _credits(food, GREENS) else set()
        else:
            found |= {key for key, of in wanted.components.items() if any(_credits(food, each) for each in of)}
    return found


def _without_either(lacks: list[str], foods: tuple[BalanceFood, ...]) -> list[str]:
    """A credit of the red and orange subgroup is one of the two: where both are missing, only the other may be."""
    either = {"orange", "red"}
    unnamed = any(_credits(food, RED_OR_ORANGE) and not food.colours & either for food in foods)
    if not (unnamed and either & set(lacks)):
        return lacks
    kept = [name for name in lacks if name not in either]
    return [*kept, ONE_OF_THEM] if either <= set(lacks) else kept


def _not_known(foods: tuple[BalanceFood, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(food.name for food in foods if not any(food.credits.values()) and not food.colours))


def _credits(food: BalanceFood, component: str) -> bool:
    return any(
        value > 0 and (name == component or name.startswith(component + ".")) for name, value in food.credits.items()
    )


@cache
def _wanted() -> tuple[_Wanted, ...]:
    table = tuple(rows("balance.csv"))
    return tuple(_of_rows(what, [row for row in table if row["what"] == what]) for what in _topics(table))


def _topics(table: tuple[dict[str, str], ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row["what"] for row in table))


def _of_rows(what: str, those: list[dict[str, str]]) -> _Wanted:
    sources = dict.fromkeys(row["source"] for row in those)
    unseen = any(row["verified"] != "read" for row in those)
    return _Wanted(
        what=what,
        names={row["of"]: row["name"] for row in those},
        components={row["of"]: tuple(filter(None, row["components"].split(";"))) for row in those},
        source="; ".join(sources),
        verified="memory" if unseen else "read",
    )
