"""What a reading holds beside the codes: kinds, spans, claims, the list as a tree, the text that stops in mid-air."""

from __future__ import annotations

import pytest

from menus.labels.cues import Voice
from menus.labels.evidence import ANY, Evidence, Kind, Part
from menus.labels.label import LONGEST_LABEL, LabelText, LabelTooLong
from menus.labels.reader import Reading, read


def pieces(reading: Reading, substance: str) -> list[Evidence]:
    return [piece for piece in reading.evidence if piece.substance == substance]


@pytest.mark.parametrize(
    ("text", "substance", "kind"),
    [
        ("milk", "milk", Kind.NAMED),
        ("whey", "milk", Kind.DERIVED),
        ("salt. Contains: milk", "milk", Kind.DECLARED),
        ("salt. May contain milk", "milk", Kind.MAY_CONTAIN),
        ("salt. Made on shared equipment with milk", "milk", Kind.SHARED_LINE),
        ("salt. Made in a facility that also processes milk", "milk", Kind.SHARED_FACILITY),
        ("salt, nuts", "peanut", Kind.GROUP),
        ("spices", "mustard", Kind.MAY_DERIVE),
        ("mayonnaise", "egg", Kind.USUAL),
        ("soybean oil", "soy", Kind.REFINED_OIL),
        ("almods", "tree-nut.almond", Kind.NEAR_MISS),
    ],
)
def test_kinds(text: str, substance: str, kind: Kind) -> None:
    """Each way a label speaks has its kind."""
    assert {piece.kind for piece in pieces(read(LabelText(text)), substance)} == {kind}


def test_evidence_shows_its_words_its_term_and_its_source() -> None:
    """The chain a page shows: the words in place, the lexicon phrase, the source and whether it was seen."""
    text = "Sugar, WHEY  Powder, salt"
    (piece,) = pieces(read(LabelText(text)), "milk")
    assert piece.span is not None
    assert text[piece.span.start : piece.span.end] == piece.span.words == "WHEY  Powder"
    assert piece.span.part is Part.INGREDIENTS
    assert piece.term == "whey powder"
    assert piece.source
    assert piece.verified in {"read", "memory"}


def test_spans_survive_folding() -> None:
    """A ligature or an accent before the word does not move it."""
    text = "ﬁsh ½ cre\u0301me, ＷＨＥＹ"
    spans = [piece.span for piece in read(LabelText(text)).evidence if piece.span is not None]
    assert {text[span.start : span.end] for span in spans} >= {"ﬁsh", "cre\u0301me", "ＷＨＥＹ"}


def test_parts_speak_in_their_own_voice() -> None:
    """What is stored as a declaration or a precaution needs no heading."""
    reading = read(
        LabelText("natural flavor", contains="milk, soy", precautionary="peanuts", claims="egg-free. Real fruit!")
    )
    assert {piece.kind for piece in pieces(reading, "milk")} == {Kind.DECLARED}
    assert {piece.kind for piece in pieces(reading, "peanut")} == {Kind.MAY_CONTAIN}
    assert [(claim.substances, claim.span.words) for claim in reading.claims] == [(("egg",), "egg")]
    assert not reading.unread


@pytest.mark.parametrize(
    ("text", "words", "substances"),
    [
        ("vegan cookie", "vegan", ("animal",)),
        ("peanut-free", "peanut", ("peanut",)),
        ("no milk or eggs", "milk", ("milk",)),
        ("gluten free flour", "gluten free flour", ("gluten",)),
        ("gluten free oats", "gluten free oats", ("gluten",)),
        ("plant-based spread (eggs)", "plant-based", ("animal",)),
        ("lactose-free milk", "lactose", ("lactose", "milk")),
    ],
)
def test_a_claim_is_kept_as_a_claim(text: str, words: str, substances: tuple[str, ...]) -> None:
    """Claims are there to be shown, with the words in place and what they claim the food is free of."""
    claims = {claim.span.words: claim.substances for claim in read(LabelText(text)).claims}
    assert claims[words] == substances


def test_an_unread_word_offers_what_it_may_have_been() -> None:
    """The suggestion stands beside the word; what it may name is possible at most."""
    reading = read(LabelText("sugar, peanu"))
    (unread,) = pieces(reading, ANY)
    assert (unread.kind, unread.term) == (Kind.UNREAD_WORD, "peanut")
    assert {piece.kind for piece in pieces(reading, "peanut")} == {Kind.NEAR_MISS}
    assert [span.words for span in reading.unread] == ["peanu"]


def test_a_plain_slip_is_no_question() -> None:
    """A slip of a harmless word is that word, one of a substance's name is possible and no more; a riddle stays one."""
    assert not read(LabelText("salt, riboflavn, thiamine mononitrte")).unread
    reading = read(LabelText("salt, hazelnutt"))
    assert not reading.unread
    assert {(piece.substance, piece.kind) for piece in reading.evidence} == {("tree-nut.hazelnut", Kind.NEAR_MISS)}
    assert read(LabelText("salt, xantilope")).unread


@pytest.mark.parametrize(
    "text", ["sugar, salt,", "sugar, wheat flour (niacin, iro", "sugar and", "sugar, salt...", "sugar (", "Contains:"]
)
def test_a_text_that_stops_in_mid_air_is_cut_off(text: str) -> None:
    """What the rest said is open."""
    assert Kind.CUT_OFF in {piece.kind for piece in pieces(read(LabelText(text)), ANY)}


@pytest.mark.parametrize(
    "text", ["sugar, salt", "sugar, salt.", "sugar (cane)", "sugar, flour (wheat, niacin.", "sugar;"]
)
def test_a_text_that_ends_is_whole(text: str) -> None:
    """A missing bracket before a full stop is a slip, not an end."""
    assert Kind.CUT_OFF not in {piece.kind for piece in read(LabelText(text)).evidence}


def test_brackets_speak_for_the_compound() -> None:
    """Mayonnaise is usually egg until its brackets say what is in it; "contains" in brackets does not say it all."""
    assert not pieces(read(LabelText("mayonnaise (soybean oil, vinegar)")), "egg")
    assert not pieces(read(LabelText("Mayonnaise: soybean oil, vinegar")), "egg")
    assert pieces(read(LabelText("mayonnaise (contains mustard)")), "egg")


def test_brackets_that_warn_or_deny_do_not_speak_for_the_compound() -> None:
    """A precaution in the brackets says nothing of what the compound is made of, and narrows no group."""
    assert pieces(read(LabelText("mayonnaise (made in a facility that processes nuts)")), "egg")
    assert pieces(read(LabelText("mayonnaise (free from milk)")), "egg")
    assert pieces(read(LabelText("tree nuts (may contain almonds)")), "tree-nut")


def test_a_member_in_brackets_takes_the_place_of_its_group() -> None:
    """ "Tree nuts (almonds)" names almonds and leaves no other nut open; "tree nuts" alone leaves all of them."""
    assert not pieces(read(LabelText("salt. Contains: tree nuts (almonds)")), "tree-nut")
    assert pieces(read(LabelText("salt. Contains: tree nuts")), "tree-nut")


def test_the_tree_shows_the_list_as_it_nests() -> None:
    """Items in order, each with its voice, its phrases in place, and its brackets under it."""
    tree = read(LabelText("chocolate (sugar, milk). Contains milk")).tree
    assert [(node.span.words, node.voice) for node in tree] == [
        ("chocolate (sugar, milk", Voice.INGREDIENT),
        ("Contains milk", Voice.DECLARED),
    ]
    assert [child.span.words for child in tree[0].children] == ["sugar", "milk"]
    assert [phrase for _, phrase in tree[0].terms] == ["chocolate"]


def test_a_label_too_long_is_refused() -> None:
    """The error says how long it is, how long it may be, and what to do."""
    LabelText("m" * LONGEST_LABEL)
    with pytest.raises(LabelTooLong, match=r"20,001 characters.*at most 20,000.*not read\. Paste only") as caught:
        LabelText("m" * LONGEST_LABEL, claims="x")
    assert caught.value.length == LONGEST_LABEL + 1
