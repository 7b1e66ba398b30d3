"""The lexicon as an asset: every row sourced, reachable, of known substances, without contradictions."""

from __future__ import annotations

from datetime import date
from itertools import combinations

import pytest

from menus.labels.evidence import Kind
from menus.labels.label import LabelText
from menus.labels.lexicon import LOCAL, SILENT, Entry, Lexicon, Meaning, Term, words_of
from menus.labels.matcher import matcher_of
from menus.labels.reader import read
from menus.labels.text import fold
from menus.labels.tokens import Mark, tokenise
from menus.substances.catalogue import Catalogue
from menus.substances.groups import JURISDICTIONS

LEXICON = Lexicon.load()


def entry(phrase: str, meaning: Meaning, *substances: str, until: date | None = None) -> Entry:
    return Entry(phrase, substances, meaning, frozenset({"us"}), date(2020, 1, 1), until, "invented", "memory", "")


def test_rows_name_what_the_catalogue_holds_and_say_their_source() -> None:
    """No row points at nothing, and none is without source and mark."""
    catalogue = Catalogue.load()
    for term in LEXICON:
        for row in term.entries:
            assert all(code in catalogue for code in row.substances), row
            assert bool(row.substances) is (row.meaning not in {Meaning.NONE, Meaning.FILLER}), row
            assert row.source, row
            assert row.verified in {"read", "memory"}, row
            assert row.jurisdictions <= set(JURISDICTIONS), row


def test_every_phrase_is_reached_by_its_own_words() -> None:
    """No row is shadowed: a label that says exactly the phrase is matched by it, in one piece."""
    matcher = matcher_of(LEXICON)
    for term in LEXICON:
        tokens = tokenise(fold(term.phrase))
        assert all(token.mark in (Mark.WORD, Mark.NUMBER) for token in tokens), term.phrase
        matches, unknown = matcher.find(tokens)
        assert [match.term for match in matches] == [term], term.phrase
        assert not unknown, term.phrase


def test_no_row_stands_twice() -> None:
    """A phrase speaks of a substance in one way at one place and time; only the law of a place may exempt it there."""
    twice = {
        (term.phrase, code)
        for term in LEXICON
        for one, other in combinations(term.entries, 2)
        for code in set(one.substances) & set(other.substances)
        if one.meaning is not Meaning.CLAIM is not other.meaning
        if (not one.jurisdictions or not other.jurisdictions or one.jurisdictions & other.jurisdictions)
        and {one.meaning, other.meaning} != {Meaning.MAY_DERIVE, Meaning.EXEMPT}
    }
    assert not twice


def test_no_phrase_falls_silent_at_a_border() -> None:
    """A phrase hides the words inside it, so where its rows do not hold, those words would go unheard."""
    silent = [
        (term.phrase, place)
        for term in LEXICON
        for place in JURISDICTIONS
        if not any(row.holds(place, None) for row in term.entries)
    ]
    assert not silent


KINDS = {
    Meaning.NAMED: Kind.NAMED,
    Meaning.DERIVED: Kind.DERIVED,
    Meaning.USUAL: Kind.USUAL,
    Meaning.GROUP: Kind.GROUP,
    Meaning.MAY_DERIVE: Kind.MAY_DERIVE,
    Meaning.EXEMPT: Kind.MAY_DERIVE,
    Meaning.REFINED_OIL: Kind.REFINED_OIL,
}


def heard(term: Term, row: Entry) -> bool:
    """Whether a label that consists of the phrase says what the row says, where the row holds and no law speaks."""
    place = min(row.jurisdictions, default="us")
    reading = read(LabelText(term.phrase, jurisdiction=place, regulator="none"))
    if row.meaning is Meaning.CLAIM:
        return bool(reading.claims)
    said = {(piece.substance, piece.kind) for piece in reading.evidence if piece.kind is not Kind.CUT_OFF}
    if row.meaning in SILENT:
        return not said
    return all((code, KINDS[row.meaning]) in said for code in row.substances)


def test_every_row_is_its_own_case() -> None:
    """Each phrase, read as a label by itself, gives just the evidence that its row promises; silent ones give none."""
    assert not [(row.phrase, row.meaning) for term in LEXICON for row in term.entries if not heard(term, row)]


def test_a_phrase_that_names_and_names_nothing_is_refused() -> None:
    """A contradiction stops the load and names the phrase."""
    with pytest.raises(ValueError, match="'nutmegs' has a row that names a substance and a row that names none"):
        Lexicon.build([entry("nutmegs", Meaning.NONE), entry("nutmeg", Meaning.NAMED, "tree-nut")])


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("almonds", "Almond"),
        ("anchovies", "anchovy"),
        ("sulphites", "sulfite"),
        ("natural flavours", "natural flavor"),
        ("tomatoes", "tomato"),
        ("cow's milk", "cows milk"),
        ("crème fraîche", "creme fraiche"),
        ("soy-lecithin", "soy lecithin"),
        ("hydrolysed", "hydrolyzed"),
        ("E 471", "e471"),
        ("E-150d", "e150d"),
        ("cheeses", "cheese"),
        ("cookies", "cookie"),
    ],
)
def test_spellings_meet(first: str, second: str) -> None:
    """Plural and spelling variants are made, not listed."""
    assert words_of(first) == words_of(second)


@pytest.mark.parametrize(("first", "second"), [("bass", "bas"), ("couscous", "couscou"), ("egg", "eggplant")])
def test_other_words_stay_apart(first: str, second: str) -> None:
    """A singular that ends in s keeps it."""
    assert words_of(first) != words_of(second)


def test_a_row_holds_for_its_place_and_days() -> None:
    """Outside its jurisdiction or its dates a row does not speak; an undated label is read under rows still open."""
    row = entry("x", Meaning.NAMED, "milk", until=date(2022, 12, 31))
    assert row.holds("us", date(2022, 12, 31))
    assert not row.holds("us", date(2023, 1, 1))
    assert not row.holds("us", date(2019, 12, 31))
    assert not row.holds("eu", date(2021, 1, 1))
    assert not row.holds("us", None)
    assert entry("x", Meaning.NAMED, "milk").holds("us", None)


def test_a_word_that_may_hide_a_substance_has_one_spelling() -> None:
    """Questions and allowances go by the phrase: were it spelled in two ways, files in another order would end them."""
    hiding = [
        term for term in LEXICON if any(entry.meaning in (Meaning.MAY_DERIVE, Meaning.EXEMPT) for entry in term.entries)
    ]
    assert hiding
    assert [term.words for term in hiding if len({entry.phrase for entry in term.entries}) > 1] == []


def accepted(phrase: str, meaning: Meaning, *substances: str) -> Entry:
    """A row that licensed staff accepted."""
    return Entry(phrase, substances, meaning, frozenset(), None, None, "accepted by A. Example, RD", LOCAL, "")


class TestWithEntries:
    """Rows that were accepted here, beside those that ship."""

    def test_an_accepted_word_is_read(self) -> None:
        """It says what it was accepted as, with its own source and mark."""
        lexicon = LEXICON.with_entries([accepted("zorbalex", Meaning.DERIVED, "milk")])
        (piece,) = read(LabelText("salt, Zorbalex"), lexicon).evidence
        assert (piece.substance, piece.kind, piece.verified) == ("milk", Kind.DERIVED, LOCAL)

    def test_an_ordinary_ingredient_is_no_longer_asked_about(self) -> None:
        """And the shipped lexicon does not know it still."""
        lexicon = LEXICON.with_entries([accepted("zorbalex", Meaning.NONE)])
        assert read(LabelText("zorbalex, salt"), lexicon).evidence == ()
        assert [span.words for span in read(LabelText("zorbalex, salt")).unread] == ["zorbalex"]

    @pytest.mark.parametrize("phrase", ["milk", "Milks", "natural flavours"])
    def test_what_the_lexicon_knows_stays_as_it_is(self, phrase: str) -> None:
        """In whatever spelling somebody tries to override it."""
        assert LEXICON.with_entries([accepted(phrase, Meaning.NONE)]) is LEXICON

    def test_without_rows_it_is_the_same_lexicon(self) -> None:
        """So that what was read by it is not read again."""
        assert LEXICON.with_entries([]) is LEXICON

    @pytest.mark.parametrize("turned", [False, True])
    def test_of_rows_that_contradict_each_other_the_one_that_names_holds(self, turned: bool) -> None:
        """Whichever came first: a word that one person called harmless is not made so by that."""
        rows = [accepted("zorbalex", Meaning.NONE), accepted("zorbalex", Meaning.NAMED, "soy")]
        lexicon = LEXICON.with_entries(reversed(rows) if turned else rows)
        assert [piece.substance for piece in read(LabelText("zorbalex"), lexicon).evidence] == ["soy"]

    def test_a_slip_of_an_accepted_word_stays_unread(self) -> None:
        """Nobody has signed for that spelling; the slip of a shipped one is still mended."""
        lexicon = LEXICON.with_entries([accepted("zorbalexin", Meaning.NONE)])
        assert [span.words for span in read(LabelText("zorbalxin, riboflavn"), lexicon).unread] == ["zorbalxin"]

    def test_a_slip_of_an_accepted_name_is_a_near_miss(self) -> None:
        """As of any name."""
        lexicon = LEXICON.with_entries([accepted("zorbalexin", Meaning.NAMED, "milk")])
        kinds = {(piece.substance, piece.kind) for piece in read(LabelText("zorbalxin"), lexicon).evidence}
        assert ("milk", Kind.NEAR_MISS) in kinds
