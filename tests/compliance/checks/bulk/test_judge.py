"""Judging in bulk finds what judging one by one finds, on random dishes and restriction types."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.checks.bulk import judge as bulk
from compliance.checks.bulk.atoms import Atoms, atom_of
from compliance.checks.bulk.codes import atoms as atoms_in
from compliance.checks.bulk.codes import code_of, outcomes, rule_of
from compliance.checks.bulk.judge import judge_many
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType, Scope, Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, Evidence, Kind, Step

SUBSTANCES = (
    "milk", "lactose", "egg", "tree-nut", "tree-nut.cashew", "coconut", "wheat", "gluten", "soy", "fish", "pork",
    "gelatin", "animal-flesh", "meat-with-milk",
)  # fmt: skip
LABELS = ("1", "2", "3")
TERMS = ("", "natural flavor", "spice")


def paths() -> st.SearchStrategy[tuple[Step, ...]]:
    """A product with its label, sometimes come over another dish with a label of its own."""
    labels = st.lists(st.sampled_from(LABELS), max_size=2)
    return labels.map(lambda refs: tuple(Step("label", ref, f"label {ref}") for ref in refs))


def pieces() -> st.SearchStrategy[Evidence]:
    """Any kind about any of a few substances that hang together."""
    return st.builds(
        Evidence,
        substance=st.sampled_from((*SUBSTANCES, ANY)),
        kind=st.sampled_from(Kind),
        term=st.sampled_from(TERMS),
        path=paths(),
    )


def aimed(pieces: Pieces) -> st.SearchStrategy[Scope]:
    """An allowance that covers one of the pieces, or would but for one thing."""
    return st.sampled_from(pieces).flatmap(
        lambda piece: st.builds(
            Scope,
            kind=st.sampled_from((piece.kind, Kind.GROUP, Kind.USUAL, Kind.ONCE_MEMBER)),
            about=st.sampled_from(("", piece.substance, "milk")),
            label=st.sampled_from(("", *(step.ref for step in piece.path), "9")),
            term=st.sampled_from(("", piece.term, "spice")),
        )
    )


@st.composite
def worlds(draw: st.DrawFn) -> tuple[list[Pieces], list[RestrictionType]]:
    """Some dishes, and restriction types with allowances that are aimed at what is in them."""
    dishes = [tuple(dish) for dish in draw(st.lists(st.lists(pieces(), max_size=6), max_size=4))]
    every = tuple(piece for dish in dishes for piece in dish)
    scopes = st.lists(aimed(every), max_size=2, unique=True) if every else st.just([])
    near = st.sampled_from([*SUBSTANCES, *(piece.substance for piece in every if piece.substance != ANY)])
    kinds = st.builds(
        RestrictionType,
        substance=near,
        strictness=st.sampled_from(Strictness),
        allowed=scopes.map(lambda found: tuple(sorted(found))),
    )
    return dishes, draw(st.lists(kinds, max_size=6, unique=True))


@given(world=worlds(), at_once=st.sampled_from((1, 7, 1 << 24)))
def test_the_same_as_one_by_one(world: tuple[list[Pieces], list[RestrictionType]], at_once: int) -> None:
    """Outcome, main rule, and whether there is anything to say; however many dishes are taken at a time."""
    dishes, kinds = world
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bulk, "AT_ONCE", at_once)
        codes = judge_many(dishes, kinds)
    assert codes.shape == (len(dishes), len(kinds))
    for row, dish in enumerate(dishes):
        for column, kind in enumerate(kinds):
            verdict, code = judge(kind, dish), codes[row, column]
            assert outcomes(code) == verdict.outcome
            assert rule_of(code) == (verdict.findings[0].rule if verdict.findings else "")


@given(world=worlds())
def test_the_number_names_a_piece_that_says_so(world: tuple[list[Pieces], list[RestrictionType]]) -> None:
    """Judged by itself, what the code points to gives the same outcome by the same rule."""
    dishes, kinds = world
    known = Atoms()
    codes = judge_many(dishes, kinds, known)
    for row, dish in enumerate(dishes):
        for column, kind in enumerate(kinds):
            if number := int(atoms_in(codes[row, column])):
                said = list(known)[number - 1]
                assert said in {atom_of(piece) for piece in dish}
                assert code_of(judge(kind, (said.evidence,)), number) == codes[row, column]


def test_nothing_to_judge_is_nothing_found() -> None:
    """No dish, no type, a dish that holds nothing."""
    milk = RestrictionType("milk", Strictness.TRACE)
    assert judge_many([], [milk]).shape == (0, 1)
    assert judge_many([()], []).shape == (1, 0)
    assert not judge_many([()], [milk]).any()


@pytest.mark.parametrize(("label", "outcome"), [("1", Outcome.NONE_FOUND), ("2", Outcome.NONE_FOUND), ("3", 2)])
def test_any_label_on_the_way_may_be_the_one_allowed(label: str, outcome: int) -> None:
    """Of a statement that came over another dish, both labels count; one that is not on the way does not."""
    path = (Step("label", "2", "label 2"), Step("label", "1", "label 1"))
    dish = (Evidence("milk", Kind.MAY_CONTAIN, path=path),)
    allowed = RestrictionType("milk", Strictness.TRACE, (Scope(Kind.MAY_CONTAIN, "milk", label),))
    assert outcomes(judge_many([dish], [allowed]))[0, 0] == judge(allowed, dish).outcome == outcome
