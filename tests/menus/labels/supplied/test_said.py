"""What a supplier's codes say: the evidence that words would be, and never less than the rest of the label says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.labels.concerning import concerning
from menus.labels.evidence import ANY, Evidence, Kind, Level, Part
from menus.labels.label import LabelText
from menus.labels.reader import Reading, read
from menus.labels.supplied.codes import NONE_DECLARED, allergen_codes
from menus.labels.supplied.levels import Says, levels
from menus.substances.catalogue import Catalogue

CATALOGUE = Catalogue.load()


def supplied(text: str, ingredients: str = "water, salt", **label: str) -> Reading:
    return read(LabelText(ingredients, supplied=text, **label))


def kinds(text: str, ingredients: str = "water, salt", **label: str) -> set[tuple[str, Kind]]:
    return {(piece.substance, piece.kind) for piece in supplied(text, ingredients, **label).evidence}


class TestLevels:
    """In what sense a code is meant."""

    def test_contains_is_a_declaration(self) -> None:
        """With the row's words in place, the allergen's name, and the published source of the code."""
        piece = supplied("AP MAY_CONTAIN\nAM CONTAINS (Milk) EU 1169/2011", "milk").evidence[2]
        assert (piece.substance, piece.kind, piece.level) == ("milk", Kind.DECLARED, Level.PRESENT)
        assert piece.span is not None
        assert (piece.span.part, piece.span.start, piece.span.words) == (Part.SUPPLIED, 15, "AM CONTAINS (Milk)")
        assert piece.term == "Milk"
        assert "GS1" in piece.source
        assert piece.verified == "read"

    def test_made_from_it_is_a_declaration_too(self) -> None:
        """Level 50: derived from."""
        assert ("milk", Kind.DECLARED) in kinds("AM 50")

    def test_may_contain_is_a_precaution(self) -> None:
        """As on a package."""
        assert kinds("AP MAY_CONTAIN") == {("peanut", Kind.MAY_CONTAIN)}

    @pytest.mark.parametrize("level", [code for code, level in levels().items() if level.says is Says.FREE])
    def test_free_from_is_a_claim_and_no_evidence(self, level: str) -> None:
        """Shown, and it clears nothing: “may contain” on the package stands."""
        reading = supplied(f"AM {level}", "water. May contain milk.")
        assert [(claim.span.words, claim.substances) for claim in reading.claims] == [(f"AM {level}", ("milk",))]
        assert kinds(f"AM {level}", "water. May contain milk.") == {("milk", Kind.MAY_CONTAIN)}

    @pytest.mark.parametrize("row", ["AS", "AS (Sesame Seeds) EU", "AS 99", "AS SOMETIMES"])
    def test_without_a_known_level_the_allergen_is_unread_and_nothing_else_is(self, row: str) -> None:
        """Whoever must avoid sesame is asked about; nobody else is."""
        assert kinds(row) == {("sesame", Kind.UNREAD_WORD)}
        assert [span.words for span in supplied(row).unread] == [row.removesuffix(" EU")]


class TestCodes:
    """What a code names."""

    def test_an_unknown_code_may_be_anything(self) -> None:
        """So everybody with a restriction is asked about, with the code that was likely meant."""
        (piece,) = supplied("SEASAME_SEEDS CONTAINS").evidence
        assert (piece.substance, piece.kind, piece.term) == (ANY, Kind.UNREAD_WORD, "SESAME_SEEDS")

    def test_an_unknown_code_that_is_absent_raises_no_question(self) -> None:
        """What is not in it hurts nobody, whatever it is; the row stays on the label."""
        assert kinds("ZZZ FREE_FROM") == set()

    def test_a_wider_substance_stands_for_what_the_catalogue_lacks(self) -> None:
        """Barracuda is fish. To be free of barracuda is no claim to be free of fish."""
        assert ("fish", Kind.DECLARED) in kinds("BRC CONTAINS")
        assert supplied("BRC FREE_FROM", "salmon, salt").claims == ()

    def test_free_of_lactose_is_not_free_of_milk(self) -> None:
        """Though lactose comes from milk, and says so where it is in it."""
        assert {("lactose", Kind.DECLARED), ("milk", Kind.DECLARED)} <= kinds("ML CONTAINS", "whey, lactose")
        assert not any(kind is Kind.CLAIM_CONTRADICTED for _, kind in kinds("ML FREE_FROM", "milk, lactase"))

    def test_a_group_leaves_its_members_possible(self) -> None:
        """As “tree nuts” does in words, and cereals with gluten leave oats open."""
        cashew = concerning("tree-nut.cashew", supplied("AN CONTAINS").evidence, CATALOGUE)
        assert {piece.level for piece in cashew} == {Level.POSSIBLE}
        assert ("oat", Kind.GROUP) in kinds("AW CONTAINS")

    def test_the_statement_that_nothing_need_be_declared_is_a_claim(self) -> None:
        """Of what the law of the place makes a label declare, and it may still contain traces."""
        assert kinds("X99 CONTAINS") == set()
        assert "milk" in supplied("X99 CONTAINS").claims[0].denied
        assert "celery" not in supplied("X99 CONTAINS").claims[0].denied
        assert "celery" in supplied("X99 CONTAINS", jurisdiction="eu").claims[0].denied
        assert kinds("X99 CONTAINS\nAM MAY_CONTAIN") == {("milk", Kind.MAY_CONTAIN)}


class TestContradictions:
    """Where two things are said, the graver counts, and that they differ is found."""

    @pytest.mark.parametrize("claim", ["AM FREE_FROM", "MILK UNDECLARED", "X99 CONTAINS"])
    @pytest.mark.parametrize("elsewhere", ["ingredients", "contains", "row"])
    def test_free_from_against_what_says_it_is_there(self, claim: str, elsewhere: str) -> None:
        """Against the list, the declaration, or another row."""
        label = {
            "ingredients": kinds(claim, "rice, milk"),
            "contains": kinds(claim, "rice, milk", contains="Milk"),
            "row": kinds(f"AM CONTAINS; {claim}", "rice, milk"),
        }
        assert ("milk", Kind.CLAIM_CONTRADICTED) in label[elsewhere]

    def test_free_from_a_group_against_a_member(self) -> None:
        """Tree nuts denied, almonds named."""
        assert ("tree-nut.almond", Kind.CLAIM_CONTRADICTED) in kinds("AN FREE_FROM", "almonds, salt")

    def test_contains_against_may_contain(self) -> None:
        """It is present; the disagreement stands beside it."""
        assert {("milk", Kind.DECLARED), ("milk", Kind.DISAGREEMENT)} <= kinds("AM CONTAINS\nMILK MAY_CONTAIN", "milk")

    @pytest.mark.parametrize("denied", ["SA FREE_FROM", "AN FREE_FROM"])
    def test_may_contain_against_free_from(self, denied: str) -> None:
        """It is possible, and somebody has to ask which is right: of almonds alone."""
        assert kinds(f"SA MAY_CONTAIN\n{denied}") == {
            ("tree-nut.almond", Kind.MAY_CONTAIN),
            ("tree-nut.almond", Kind.UNREAD_WORD),
        }

    def test_may_contain_a_group_says_nothing_against_free_from_a_member(self) -> None:
        """Nuts other than almonds may get in."""
        assert kinds("AN MAY_CONTAIN\nSA FREE_FROM") == {("tree-nut", Kind.MAY_CONTAIN)}

    def test_declared_by_the_supplier_alone(self) -> None:
        """No ingredient can hold it: one of the two is of another recipe."""
        assert {("peanut", Kind.DECLARED), ("peanut", Kind.DISAGREEMENT)} <= kinds("AP CONTAINS", "rice, salt")

    def test_what_the_rows_leave_out_is_no_contradiction(self) -> None:
        """No row for an allergen means that nothing is known of it."""
        assert not any(kind is Kind.DISAGREEMENT for _, kind in kinds("AM CONTAINS", "wheat flour, milk, egg"))

    def test_the_same_row_twice_is_no_contradiction(self) -> None:
        """Nor are the short and the long code of one allergen."""
        assert kinds("AM MAY_CONTAIN; MILK MAY_CONTAIN") == {("milk", Kind.MAY_CONTAIN)}


class TestSentences:
    """The supplier's own list and statement."""

    SAID = "AN MAY_CONTAIN\nIngredients: rolled oats, almond paste, salt\nAllergen statement: May contain sesame, milk."

    def test_they_are_read_as_words(self) -> None:
        """They only ever add."""
        found = kinds(self.SAID)
        assert {("tree-nut.almond", Kind.NAMED), ("sesame", Kind.MAY_CONTAIN), ("milk", Kind.MAY_CONTAIN)} <= found

    def test_they_point_at_their_words(self) -> None:
        """Spans count in the whole of the supplier's data."""
        for piece in supplied(self.SAID).evidence:
            if piece.span and piece.span.part is Part.SUPPLIED:
                assert self.SAID[piece.span.start : piece.span.end] == piece.span.words

    def test_the_supplier_s_list_bears_out_no_declaration_of_the_package(self) -> None:
        """Nor does his statement have to be whole for the package's list."""
        assert ("peanut", Kind.DISAGREEMENT) in kinds("Ingredients: peanuts", "rice, salt", contains="Peanuts")
        assert ("egg", Kind.DISAGREEMENT) not in kinds("Allergen statement: Contains milk.", "milk, egg")


@pytest.mark.parametrize("text", ["AM CONTAINS", "X99 CONTAINS", "Ingredients: rice, salt"])
def test_supplied_data_are_no_ingredient_list(text: str) -> None:
    """Without the package's list the food stays unknown."""
    assert (ANY, Kind.NO_LABEL) in kinds(text, "")


LISTS = st.sampled_from(
    ["", "rice, salt", "milk, wheat flour, zzyqqx", "almonds. May contain peanuts.", "vegan oat bar"]
)
ROW = st.builds(
    "{} {}".format, st.sampled_from([*allergen_codes(), "ZZZ"]), st.sampled_from([*levels(), "", "NEVER"])
) | st.sampled_from(["Ingredients: sesame, egg", "Allergen statement: free from milk", "?!"])


def gravest(pieces: tuple[Evidence, ...]) -> dict[str, Level]:
    """How grave the label is for whoever must avoid each of these."""
    codes = ("milk", "tree-nut", "tree-nut.cashew", "gluten", "sesame", "fish", "egg", "lactose", "legume")
    return {code: max((each.level for each in concerning(code, pieces, CATALOGUE)), default=Level(0)) for code in codes}


@settings(deadline=None)
@given(LISTS, st.lists(ROW, max_size=6), ROW)
def test_one_more_row_is_never_milder(ingredients: str, rows: list[str], more: str) -> None:
    """Whatever a supplier adds, nothing that was said is taken back, of any substance and in any kind."""
    before, after = supplied("\n".join(rows), ingredients), supplied("\n".join([*rows, more]), ingredients)
    assert {(each.substance, each.kind) for each in before.evidence} <= {
        (each.substance, each.kind) for each in after.evidence
    }
    assert all(gravest(after.evidence)[code] >= level for code, level in gravest(before.evidence).items())


@settings(deadline=None)
@given(LISTS, st.lists(ROW, max_size=6))
def test_the_kinds_are_those_of_the_evidence(ingredients: str, rows: list[str]) -> None:
    """The short way to the codes and the long one agree."""
    reading = supplied("\n".join(rows), ingredients)
    told = {(code, kind) for code, found in reading.kinds().items() for kind in found}
    assert told == {(each.substance, each.kind) for each in reading.evidence}


@settings(deadline=None)
@given(st.text(max_size=400))
def test_any_text_gives_a_reading(text: str) -> None:
    """No text raises, and every span holds the words it says it holds."""
    for piece in supplied(text, "").evidence:
        assert piece.span is None or text[piece.span.start : piece.span.end] == piece.span.words


@pytest.mark.parametrize("code", sorted(allergen_codes().keys() - NONE_DECLARED))
def test_no_code_that_is_contained_passes_unnoticed(code: str) -> None:
    """Every code of the table leaves evidence: on what it names, or on anything."""
    assert supplied(f"{code} CONTAINS").evidence
    assert supplied(f"{code} MAY_CONTAIN").evidence
