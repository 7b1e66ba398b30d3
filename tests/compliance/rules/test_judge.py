"""Verdicts: the gravest finding decides, all are kept, and only more caution is free."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rules.judge import judge
from compliance.rules.register import RULES
from compliance.rules.values import Outcome, RestrictionType, Scope, Strictness
from menus.labels.evidence import ANY, Evidence, Kind, Step

TRACE, INGREDIENT = Strictness.TRACE, Strictness.INGREDIENT
LABEL = Step("label", "7", "Oat bar")


@pytest.mark.parametrize(
    ("kind", "strictness", "outcome"),
    [
        (Kind.NAMED, TRACE, Outcome.WITHHOLD),
        (Kind.NAMED, INGREDIENT, Outcome.WITHHOLD),
        (Kind.DECLARED, INGREDIENT, Outcome.WITHHOLD),
        (Kind.MAY_CONTAIN, TRACE, Outcome.WITHHOLD),
        (Kind.MAY_CONTAIN, INGREDIENT, Outcome.NONE_FOUND),
        (Kind.CARRY_OVER, TRACE, Outcome.WITHHOLD),
        (Kind.CARRY_OVER, INGREDIENT, Outcome.NONE_FOUND),
        (Kind.REFINED_OIL, TRACE, Outcome.REFER),
        (Kind.MAY_DERIVE, TRACE, Outcome.REFER),
        (Kind.MAY_DERIVE, INGREDIENT, Outcome.NONE_FOUND),
        (Kind.UNREAD_WORD, TRACE, Outcome.REFER),
        (Kind.UNREAD_WORD, INGREDIENT, Outcome.REFER),
        (Kind.STALE_LABEL, INGREDIENT, Outcome.REFER),
    ],
)
def test_outcome_by_evidence_and_strictness(kind: Kind, strictness: Strictness, outcome: Outcome) -> None:
    """The outcome table of the design, row by row."""
    assert judge(RestrictionType("peanut", strictness), [Evidence("peanut", kind)]).outcome is outcome


def test_absent_is_none_found() -> None:
    """Evidence about something else says nothing about this."""
    verdict = judge(RestrictionType("peanut", TRACE), [Evidence("milk", Kind.NAMED)])
    assert (verdict.outcome, verdict.findings) == (Outcome.NONE_FOUND, ())


def test_member_present_withholds_from_the_group() -> None:
    """Cashew is a tree nut."""
    assert (
        judge(RestrictionType("tree-nut", TRACE), [Evidence("tree-nut.cashew", Kind.NAMED)]).outcome is Outcome.WITHHOLD
    )


def test_other_member_says_nothing() -> None:
    """Almond is no cashew, and rye is no wheat."""
    assert judge(RestrictionType("tree-nut.cashew", TRACE), [Evidence("tree-nut.almond", Kind.NAMED)]).findings == ()


def test_group_without_member_is_a_doubt() -> None:
    """“Contains tree nuts” may mean cashew."""
    verdict = judge(RestrictionType("tree-nut.cashew", TRACE), [Evidence("tree-nut", Kind.DECLARED)])
    assert [finding.rule for finding in verdict.findings] == ["R05"]
    assert verdict.outcome is Outcome.WITHHOLD


def test_unread_concerns_every_restriction() -> None:
    """A word that nobody understands may name anything."""
    assert judge(RestrictionType("kiwi", INGREDIENT), [Evidence(ANY, Kind.UNREAD_WORD)]).outcome is Outcome.REFER


def test_gravest_reason_wins_and_all_are_kept() -> None:
    """The mild note stays visible under the grave one."""
    pieces = [Evidence("milk", Kind.MAY_CONTAIN), Evidence(ANY, Kind.NO_LABEL), Evidence("milk", Kind.NAMED)]
    verdict = judge(RestrictionType("milk", INGREDIENT), pieces)
    assert verdict.outcome is Outcome.WITHHOLD
    assert [finding.outcome for finding in verdict.findings] == [Outcome.WITHHOLD, Outcome.REFER, Outcome.NONE_FOUND]


def test_allowance_covers_its_label_version_only() -> None:
    """The same words on the next label version count again."""
    allowed = RestrictionType("milk", TRACE, (Scope(Kind.SHARED_LINE, label="7"),))
    piece = Evidence("milk", Kind.SHARED_LINE, path=(LABEL,))
    next_version = Evidence("milk", Kind.SHARED_LINE, path=(Step("label", "8", "Oat bar"),))
    assert judge(allowed, [piece]).outcome is Outcome.NONE_FOUND
    assert judge(allowed, [piece]).findings[0].allowed
    assert judge(allowed, [next_version]).outcome is Outcome.WITHHOLD


def test_allowance_covers_its_substance_only() -> None:
    """Whoever may have coconut may not for that reason have chestnut."""
    allowed = RestrictionType("tree-nut", TRACE, (Scope(Kind.ONCE_MEMBER, about="coconut"),))
    assert judge(allowed, [Evidence("coconut", Kind.NAMED)]).outcome is Outcome.NONE_FOUND
    assert judge(allowed, [Evidence("chestnut", Kind.NAMED)]).outcome is Outcome.REFER


def test_allowance_covers_its_kind_only() -> None:
    """Whoever may have the shared line may not have the ingredient."""
    allowed = RestrictionType("milk", TRACE, (Scope(Kind.SHARED_LINE, label="7"),))
    assert judge(allowed, [Evidence("milk", Kind.NAMED, path=(LABEL,))]).outcome is Outcome.WITHHOLD


def flavour(substance: str, term: str = "natural flavor") -> Evidence:
    """A word that may hide the substance."""
    return Evidence(substance, Kind.MAY_DERIVE, term=term)


FLAVOUR_OF_MUSTARD = Scope(Kind.MAY_DERIVE, about="mustard", term="natural flavor")


def test_a_word_that_may_hide_it_is_asked_about() -> None:
    """Scenario S07: mustard in flavours is for licensed staff to say; to the ingredient alone it is a note."""
    assert judge(RestrictionType("mustard", TRACE), [flavour("mustard")]).outcome is Outcome.REFER
    assert judge(RestrictionType("mustard", INGREDIENT), [flavour("mustard")]).outcome is Outcome.NONE_FOUND


def test_an_allowance_covers_its_word_and_its_substance_only() -> None:
    """Flavours say nothing of spices, mustard nothing of what the lexicon learns that flavours may hold."""
    allowed = RestrictionType("mustard", TRACE, (FLAVOUR_OF_MUSTARD,))
    assert judge(allowed, [flavour("mustard")]).outcome is Outcome.NONE_FOUND
    assert judge(allowed, [flavour("mustard", "spice")]).outcome is Outcome.REFER
    gluten = RestrictionType("gluten", TRACE, (Scope(Kind.MAY_DERIVE, about="barley", term="natural flavor"),))
    assert judge(gluten, [flavour("barley")]).outcome is Outcome.NONE_FOUND
    assert judge(gluten, [flavour("barley"), flavour("wheat")]).outcome is Outcome.REFER


@pytest.mark.parametrize("scope", [Scope(Kind.MAY_DERIVE), Scope(Kind.MAY_DERIVE, about="mustard")])
def test_a_standing_scope_without_a_word_covers_no_word(scope: Scope) -> None:
    """The database refuses it; should it come by another road, it relaxes nothing."""
    assert judge(RestrictionType("mustard", TRACE, (scope,)), [flavour("mustard")]).outcome is Outcome.REFER


def test_an_allowance_of_a_word_is_none_of_what_is_certain() -> None:
    """Mustard named, or warned of, beside the flavour."""
    allowed = RestrictionType("mustard", TRACE, (FLAVOUR_OF_MUSTARD,))
    for kind in (Kind.NAMED, Kind.MAY_CONTAIN, Kind.CARRY_OVER):
        assert judge(allowed, [flavour("mustard"), Evidence("mustard", kind)]).outcome is Outcome.WITHHOLD


PIECES = st.builds(
    Evidence,
    substance=st.sampled_from(
        ["milk", "beef", "animal", "tree-nut", "tree-nut.cashew", "wheat", "gluten", "meat-with-milk", ANY]
    ),
    kind=st.sampled_from(list(Kind)),
    term=st.sampled_from(["", "natural flavor"]),
    path=st.sampled_from([(), (LABEL,), (Step("label", "8", "Bun"),)]),
)
TYPES = st.builds(
    RestrictionType,
    substance=st.sampled_from(["milk", "tree-nut", "tree-nut.cashew", "wheat", "gluten", "meat-with-milk"]),
    strictness=st.sampled_from(list(Strictness)),
    allowed=st.lists(
        st.builds(
            Scope,
            st.sampled_from(list(Kind)),
            st.sampled_from(["", "milk"]),
            st.sampled_from(["", "7"]),
            st.sampled_from(["", "natural flavor"]),
        ),
        max_size=2,
        unique=True,
    ).map(tuple),
)


@given(TYPES, st.lists(PIECES, max_size=6), PIECES)
def test_more_evidence_is_never_milder(kind: RestrictionType, food: list[Evidence], extra: Evidence) -> None:
    """Design section 2, item 3."""
    assert judge(kind, [*food, extra]).outcome >= judge(kind, food).outcome


@given(TYPES, st.lists(PIECES, max_size=6))
def test_an_allowance_never_makes_it_graver_and_losing_one_never_milder(
    kind: RestrictionType, food: list[Evidence]
) -> None:
    """Only an allowance makes an outcome milder."""
    without = RestrictionType(kind.substance, kind.strictness)
    assert judge(without, food).outcome >= judge(kind, food).outcome


WORDS = st.builds(
    Evidence,
    substance=st.sampled_from(["mustard", "celery", "gluten", "barley", "wheat", "milk", ANY]),
    kind=st.sampled_from([Kind.MAY_DERIVE, Kind.MAY_DERIVE, *Kind]),
    term=st.sampled_from(["", "natural flavor", "natural flavoring", "spice"]),
)


@given(
    st.sampled_from(["mustard", "gluten", "barley", "milk"]),
    st.sampled_from(["mustard", "barley", "wheat", "gluten"]),
    st.sampled_from(["natural flavor", "spice"]),
    st.lists(WORDS, max_size=8),
)
def test_an_allowance_of_a_word_takes_away_exactly_that(
    substance: str, about: str, term: str, food: list[Evidence]
) -> None:
    """As if that word's evidence of that substance were not there, and all else as grave as before."""
    allowed = RestrictionType(substance, TRACE, (Scope(Kind.MAY_DERIVE, about=about, term=term),))
    covered = (Kind.MAY_DERIVE, about, term)
    rest = [piece for piece in food if (piece.kind, piece.substance, piece.term) != covered]
    assert judge(allowed, food).outcome is judge(RestrictionType(substance, TRACE), rest).outcome


@given(st.sampled_from(["milk", "tree-nut.cashew", "wheat", "meat-with-milk"]), st.lists(PIECES, max_size=6))
def test_trace_is_never_milder_than_ingredient(substance: str, food: list[Evidence]) -> None:
    """The stricter reading is the stricter outcome."""
    strict = judge(RestrictionType(substance, TRACE), food).outcome
    assert strict >= judge(RestrictionType(substance, INGREDIENT), food).outcome


@given(TYPES, st.lists(PIECES, max_size=6))
def test_silence_is_never_absence(kind: RestrictionType, food: list[Evidence]) -> None:
    """Design section 2, item 2: an unread piece that no allowance covers is at least a referral."""
    plain = RestrictionType(kind.substance, kind.strictness)
    assert judge(plain, [*food, Evidence(ANY, Kind.NO_LABEL)]).outcome >= Outcome.REFER


@given(TYPES, st.lists(PIECES, max_size=6), st.randoms(use_true_random=False))
def test_order_of_rules_and_evidence_decides_nothing(
    kind: RestrictionType, food: list[Evidence], dice: random.Random
) -> None:
    """Shuffled rules and shuffled evidence give the same verdict."""
    rules, shuffled = list(RULES), list(food)
    dice.shuffle(rules)
    dice.shuffle(shuffled)
    one, other = judge(kind, food), judge(kind, shuffled, rules)
    assert one.outcome is other.outcome
    assert sorted(map(repr, one.findings)) == sorted(map(repr, other.findings))
