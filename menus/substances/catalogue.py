"""The catalogue of everything a restriction can name, and how its entries hang together."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import TYPE_CHECKING

from menus.substances.errors import UnknownSubstance
from menus.substances.groups import Group, load_groups
from menus.substances.names import comparable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True, slots=True)
class Substance:
    """One thing a child may have to avoid."""

    code: str
    name: str
    also_called: tuple[str, ...]
    kind: str  # "group" | "member" | "food" | "origin" | "constituent" | "additive" | "combination"
    member_of: tuple[str, ...]
    may_carry: tuple[str, ...]
    once_member_of: tuple[str, ...]
    source: str
    verified: str


@dataclass(frozen=True, eq=False)
class Catalogue:
    """Substances by code, with the member-of graph closed upward and downward once."""

    substances: Mapping[str, Substance]
    _groups: tuple[Group, ...]
    _names: Mapping[str, str]
    _ancestors: Mapping[str, frozenset[str]]
    _descendants: Mapping[str, frozenset[str]]
    _carriers: Mapping[str, frozenset[str]]
    _once_members: Mapping[str, frozenset[str]]

    @classmethod
    def build(cls, substances: Iterable[Substance], groups: Iterable[Group]) -> Catalogue:
        """Close the graph; refuse a parent that does not exist, a cycle, and a name two substances claim."""
        by_code = {substance.code: substance for substance in substances}
        ancestors = {code: frozenset(_climb(code, by_code, ())) for code in by_code}
        return cls(
            substances=MappingProxyType(by_code),
            _groups=tuple(groups),
            _names=MappingProxyType(_names(by_code)),
            _ancestors=MappingProxyType(ancestors),
            _descendants=MappingProxyType(_inverted(ancestors)),
            _carriers=MappingProxyType(_carriers(by_code, ancestors)),
            _once_members=MappingProxyType(_once_members(by_code)),
        )

    @classmethod
    def load(cls) -> Catalogue:
        """The catalogue of the data files beside this module, read once."""
        return _load()

    def __iter__(self) -> Iterator[Substance]:
        return iter(self.substances.values())

    def __contains__(self, code: object) -> bool:
        return code in self.substances

    def get(self, code: str) -> Substance:
        """Return the substance with this code, or raise UnknownSubstance with the nearest ones."""
        try:
            return self.substances[code]
        except KeyError:
            raise UnknownSubstance(code, self._nearest(code)) from None

    def resolve(self, text: str) -> Substance:
        """Return the substance that this code or name stands for, whatever its case and spacing."""
        code = self._names.get(comparable(text))
        if code is None:
            raise UnknownSubstance(text, self._nearest(text))
        return self.substances[code]

    def ancestors(self, code: str) -> frozenset[str]:
        """Codes of every group this one is a member of, however far up; not the code itself."""
        return self._ancestors[self.get(code).code]

    def descendants(self, code: str) -> frozenset[str]:
        """Codes of every member, however far down; not the code itself."""
        return self._descendants[self.get(code).code]

    def carriers(self, code: str) -> frozenset[str]:
        """Codes that may carry this substance or a member of it (oats and gluten, milk and lactose)."""
        return self._carriers[self.get(code).code]

    def once_members(self, code: str) -> frozenset[str]:
        """Codes that the law counted into this group once (coconut and tree nuts): a statement may still mean them."""
        return self._once_members[self.get(code).code]

    def periods(self, jurisdiction: str) -> list[tuple[date | None, date | None]]:
        """First and last day of every line of this jurisdiction's law."""
        return [
            (group.effective_from, group.effective_to) for group in self._groups if group.jurisdiction == jurisdiction
        ]

    def groups(self, jurisdiction: str, on: date) -> tuple[Group, ...]:
        """Groups the law of this jurisdiction makes a label name on this day."""
        return tuple(group for group in self._groups if group.jurisdiction == jurisdiction and group.in_force(on))

    def _nearest(self, text: str) -> tuple[str, ...]:
        found = get_close_matches(comparable(text), self._names, n=6, cutoff=0.6)
        return tuple(dict.fromkeys(self._names[name] for name in found))[:3]


def _climb(code: str, by_code: Mapping[str, Substance], below: tuple[str, ...]) -> Iterator[str]:
    if code in below:
        raise ValueError(f"substances.csv: {' > '.join((*below, code))} is a cycle; drop one member_of entry")
    for parent in by_code[code].member_of:
        if parent not in by_code:
            raise ValueError(f"substances.csv: {code} is a member of {parent}, which has no row; add it")
        yield parent
        yield from _climb(parent, by_code, (*below, code))


def _names(by_code: Mapping[str, Substance]) -> dict[str, str]:
    names: dict[str, str] = {}
    for code, substance in by_code.items():
        for name in (code, substance.name, *substance.also_called):
            holder = names.setdefault(comparable(name), code)
            if holder != code:
                raise ValueError(f"substances.csv: both {holder} and {code} are called {name!r}; drop one")
    return names


def _inverted(ancestors: Mapping[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    below: dict[str, set[str]] = {code: set() for code in ancestors}
    for code, above in ancestors.items():
        for parent in above:
            below[parent].add(code)
    return {code: frozenset(members) for code, members in below.items()}


def _carriers(by_code: Mapping[str, Substance], ancestors: Mapping[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """Only a row's own may_carry counts: gelatin may be pork, but its member "gelatin from beef" may not."""
    carriers: dict[str, set[str]] = {code: set() for code in by_code}
    for code, substance in by_code.items():
        for load in substance.may_carry:
            for named in (load, *ancestors[load]):
                carriers[named].add(code)
    return {code: frozenset(found) for code, found in carriers.items()}


def _once_members(by_code: Mapping[str, Substance]) -> dict[str, frozenset[str]]:
    return {
        group: frozenset(code for code, substance in by_code.items() if group in substance.once_member_of)
        for group in by_code
    }


def _several(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


@cache
def _load() -> Catalogue:
    with (files("menus.substances") / "data" / "substances.csv").open(encoding="utf-8") as rows:
        substances = [
            Substance(
                code=row["code"],
                name=row["name"],
                also_called=_several(row["also_called"]),
                kind=row["kind"],
                member_of=_several(row["member_of"]),
                may_carry=_several(row["may_carry"]),
                once_member_of=_several(row["once_member_of"]),
                source=row["source"],
                verified=row["verified"],
            )
            for row in csv.DictReader(rows)
        ]
    return Catalogue.build(substances, load_groups())
