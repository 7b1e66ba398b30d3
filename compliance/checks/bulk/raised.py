"""What a dish leaves to ask about for a restriction type: found among its pieces, without a sentence being written."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, TypeVar

from compliance.checks.explain import reasons_for
from compliance.checks.questions import innermost, is_open, subject, subject_of
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType, Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Evidence, Kind
from menus.substances.combinations import combinations

Named = TypeVar("Named", bound=Hashable)
"""What names a dish: a row of a table, or an id."""

Asked = frozenset[tuple[str, str]]
"""What is asked: each subject, with a substance that it is asked about."""


@dataclass(frozen=True, slots=True)
class Dish:
    """What there is to know of a dish; the name is asked for where nothing else tells what a question is about."""

    pieces: Pieces
    name: Callable[[], str]


class Raised(Generic[Named]):
    """What dishes leave to ask about, each worked out once for each restriction type. Both are named by a number."""

    def __init__(self, dish_of: Callable[[Named], Dish], type_of: Callable[[Named], RestrictionType]) -> None:
        """`dish_of` and `type_of` give what a name stands for."""
        self._dish_of, self._type_of = dish_of, type_of
        self._parts: dict[Named, dict[_Pair, list[_Part]]] = {}
        self._asked: dict[tuple[Named, Named], Asked] = {}

    def of(self, dish: Named, kind: Named) -> Asked:
        """Return what is asked about the dish for the type, where its outcome is `refer`."""
        asked = self._asked.get((dish, kind))
        if asked is None:
            asked = self._asked[dish, kind] = self._found(dish, self._type_of(kind))
        return asked

    def _found(self, dish: Named, kind: RestrictionType) -> Asked:
        if kind.substance in combinations():
            return _combined(self._dish_of(dish), kind)
        if dish not in self._parts:
            self._parts[dish] = _parts(self._dish_of(dish).pieces)
        return frozenset(
            (
                subject(taken_as, part.substance, part.term, part.thing, kind.substance, self._food(dish, part)),
                part.substance,
            )
            for (substance, said), parts in self._parts[dish].items()
            if (taken_as := asked_as(substance, said, kind.substance, kind.strictness))
            for part in parts
            if not (kind.allowed and _is_covered(part.piece, taken_as, kind))
        )

    def _food(self, dish: Named, part: _Part) -> str:
        return part.product or ("" if part.thing else self._dish_of(dish).name())


_Pair = tuple[str, Kind]


@dataclass(frozen=True, slots=True)
class _Part:
    """One piece, as far as it tells what is asked."""

    piece: Evidence
    thing: str
    product: str

    @property
    def substance(self) -> str:
        return self.piece.substance

    @property
    def term(self) -> str:
        return self.piece.term


def _parts(pieces: Iterable[Evidence]) -> dict[_Pair, list[_Part]]:
    """The pieces by what decides their outcome; of several that ask the same, and may be covered alike, one."""
    found: dict[_Pair, dict[tuple[object, ...], _Part]] = {}
    for piece in pieces:
        labels = tuple(step.ref for step in piece.path if step.kind == "label")
        thing = innermost(piece.path)
        product = next((step.name for step in reversed(piece.path) if step.kind == "product"), "")
        same = found.setdefault((piece.substance, piece.kind), {})
        same.setdefault((piece.term, labels, thing, product), _Part(piece, thing, product))
    return {pair: list(parts.values()) for pair, parts in found.items()}


@lru_cache(maxsize=1 << 16)
def asked_as(substance: str, kind: Kind, avoided: str, strictness: Strictness) -> Kind | None:
    """Return as what kind of evidence such a piece is asked about for who avoids a substance; None: it is not."""
    verdict = judge(RestrictionType(avoided, strictness), (Evidence(substance, kind),))
    return next((each.evidence.kind for each in verdict.findings if each.outcome is Outcome.REFER), None)


def _is_covered(piece: Evidence, taken_as: Kind, kind: RestrictionType) -> bool:
    counted = Evidence(piece.substance, taken_as, term=piece.term, path=piece.path)
    return any(scope.covers(counted) for scope in kind.allowed)


def _combined(dish: Dish, kind: RestrictionType) -> Asked:
    """Of a combination the milder side counts, which only judging the whole dish tells."""
    return frozenset(
        (subject_of(reason, kind.substance, reason.name_of("product") or dish.name()), reason.substance)
        for reason in reasons_for(dish.pieces, kind)
        if is_open(reason)
    )
