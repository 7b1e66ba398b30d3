"""Properties of the reader that hold for any label text."""

from __future__ import annotations

import unicodedata

from hypothesis import example, given, settings
from hypothesis import strategies as st

from menus.labels.evidence import ANY, Kind, Level, Part
from menus.labels.label import LabelText
from menus.labels.reader import Reading, read
from menus.labels.stretch import read_stretch

INGREDIENTS = (
    "sugar",
    "salt",
    "wheat flour",
    "enriched flour",
    "whey",
    "soy lecithin",
    "natural flavor",
    "almonds",
    "cod",
    "shrimp",
    "egg whites",
    "peanut butter",
    "sesame seeds",
    "coconut milk",
    "butternut squash",
    "modified food starch",
    "mustard",
    "mayonnaise",
    "soybean oil",
    "malted barley",
    "gelatin",
    "xyzzyplugh",
    "nuts",
    "milk",
    "cocoa butter",
    "spices",
)
WHOLE_LABEL = {Kind.CUT_OFF, Kind.NO_LABEL, Kind.DISAGREEMENT, Kind.CLAIM_CONTRADICTED}
unhurried = settings(deadline=None)  # the first reading loads the lexicon
lists = st.lists(st.sampled_from(INGREDIENTS), min_size=1, max_size=8)
label_like = st.text(st.sampled_from("milk eggwhatsoy,.;:()[]{}-/&*%0123456789\n'free may contain no"), max_size=300)


def levels(reading: Reading) -> dict[str, Level]:
    """The gravest level of each substance; an unread word counts under ANY."""
    gravest: dict[str, Level] = {}
    for piece in reading.evidence:
        gravest[piece.substance] = max(piece.level, gravest.get(piece.substance, Level.ABSENT))
    return gravest


def as_codes(reading: Reading) -> set[tuple[str, Kind]]:
    return {(piece.substance, piece.kind) for piece in reading.evidence}


@unhurried
@given(st.text(max_size=2000))
@example("(" * 5000)
@example("contains no free from may contain ) ] } (milk")
@example("\u0345\u0301milk\u00ad ﬁsh ½ ǅ İ")
def test_any_text_gives_a_reading(text: str) -> None:
    """No text raises, and every span holds the words it says it holds."""
    reading = read(LabelText(text, contains=text, precautionary=text, claims=text))
    for piece in reading.evidence:
        if piece.span is not None:
            assert text[piece.span.start : piece.span.end] == piece.span.words


@unhurried
@given(label_like)
def test_text_that_looks_like_a_label_gives_a_reading(text: str) -> None:
    """The same for texts full of the punctuation and the words that change the voice."""
    reading = read(LabelText(text))
    for span in reading.unread:
        assert text[span.start : span.end] == span.words


@unhurried
@given(st.binary(max_size=500))
def test_bytes_of_anything_give_a_reading(raw: bytes) -> None:
    """A file that is no text at all still gives evidence."""
    read(LabelText(raw.decode("utf-8", errors="replace")))
    read(LabelText(raw.decode("latin-1")))


@unhurried
@given(lists, st.sampled_from(INGREDIENTS))
def test_one_more_ingredient_is_never_milder(ingredients: list[str], more: str) -> None:
    """Whatever was said stays said, as gravely."""
    before = levels(read(LabelText(", ".join(ingredients))))
    after = levels(read(LabelText(", ".join([*ingredients, more]))))
    assert all(after[code] >= level for code, level in before.items())


@unhurried
@given(lists, st.sampled_from(["Contains: milk.", "May contain peanuts.", "Made in a facility that processes eggs."]))
def test_one_more_statement_is_never_milder(ingredients: list[str], statement: str) -> None:
    """A declaration or a precaution after the list takes nothing back."""
    before = levels(read(LabelText(", ".join(ingredients) + ".")))
    after = levels(read(LabelText(", ".join(ingredients) + ". " + statement)))
    assert all(after[code] >= level for code, level in before.items())


@unhurried
@given(lists, st.randoms())
def test_order_never_matters(ingredients: list[str], random: object) -> None:
    """The same ingredients in another order are the same food."""
    shuffled = list(ingredients)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert as_codes(read(LabelText(", ".join(ingredients)))) == as_codes(read(LabelText(", ".join(shuffled))))


@unhurried
@given(lists)
def test_case_and_spaces_never_matter(ingredients: list[str]) -> None:
    """Capitals, wide gaps and wrapped lines change nothing."""
    plain = as_codes(read(LabelText(", ".join(ingredients))))
    assert as_codes(read(LabelText(", ".join(ingredients).upper()))) == plain
    assert as_codes(read(LabelText("  ,\t ".join(ingredients).replace(" ", "  ")))) == plain
    assert as_codes(read(LabelText(",\n".join(ingredients).replace(" ", "\n")))) == plain


@unhurried
@given(lists, st.sampled_from(["NFC", "NFD", "NFKC", "NFKD"]))
def test_unicode_form_never_matters(ingredients: list[str], form: str) -> None:
    """Accents, ligatures and wide letters are read as the letters they stand for."""
    text = ", ".join(["crème fraîche", "ﬁsh", "ｍｉｌｋ", *ingredients])
    assert as_codes(read(LabelText(unicodedata.normalize(form, text)))) == as_codes(read(LabelText(text)))


@unhurried
@given(lists)
def test_silence_is_not_absence(ingredients: list[str]) -> None:
    """A word nobody knows leaves evidence that could concern anything."""
    reading = read(LabelText(", ".join([*ingredients, "zzyqqx"])))
    assert any(piece.substance == ANY and piece.kind is Kind.UNREAD_WORD for piece in reading.evidence)
    assert "zzyqqx" in [span.words for span in reading.unread]


@unhurried
@given(st.sampled_from(["", " ", "\n\t"]), st.sampled_from(["", "Contains: milk"]))
def test_no_ingredients_is_no_label(blank: str, contains: str) -> None:
    """A declaration without the ingredient list still leaves the label missing."""
    kinds = [piece.kind for piece in read(LabelText(blank, contains=contains)).evidence]
    assert kinds.count(Kind.NO_LABEL) == 1


@unhurried
@given(lists, st.sampled_from(["milk-free", "no peanuts", "dairy free", "does not contain eggs", "vegan", "soy-free"]))
def test_a_claim_clears_nothing(ingredients: list[str], claim: str) -> None:
    """A claim of absence takes no evidence away, wherever it stands."""
    before = as_codes(read(LabelText(", ".join(ingredients))))
    assert before <= as_codes(read(LabelText(", ".join(ingredients), claims=claim)))
    assert before <= as_codes(read(LabelText(claim + ". " + ", ".join(ingredients))))
    assert before <= as_codes(read(LabelText(", ".join(ingredients) + ". " + claim)))


SEPARATORS = (", ", ". ", " ", " (", "), ", ": ", ". Contains: ", ", may contain ", " [", "] ", "; ", ". No ", " and ")
FRAGMENTS = (
    *INGREDIENTS,
    "crust",
    "vegetable oil",
    "contains 2% or less of",
    "ingredients",
    "soybean",
    "tree nuts",
    "cod liver oil",
    "contains milk",
    "made in a facility that processes nuts",
    "is used in our facility",
    "no milk",
    "peanut-free",
    "dried egg",
    "zzyqqx",
    "salt)",
    "（",
    "e450(iii",
    "*",
)
mixtures = st.lists(st.tuples(st.sampled_from(FRAGMENTS), st.sampled_from(SEPARATORS)), max_size=14)


@settings(deadline=None, max_examples=400)
@given(mixtures)
@example([("flour", ", "), ("soybean", " and "), ("contains milk", ", "), ("salt", "")])
@example([("salt", ", "), ("*", "")])
def test_a_list_read_in_stretches_says_what_it_says_as_one(mixture: list[tuple[str, str]]) -> None:
    """Cutting a label up to read it faster changes nothing: not the codes, kinds, places or claims."""
    text = "".join(part for pair in mixture for part in pair)
    reading = read(LabelText(text))
    whole = read_stretch(reading.context, Part.INGREDIENTS, text)
    pieces = {piece for piece in reading.evidence if piece.kind not in WHOLE_LABEL}
    assert pieces == set(whole.evidence)
    assert set(reading.unread) == set(whole.unread)
    assert {(claim.span, claim.substances) for claim in reading.claims} == {
        (claim.span, claim.substances) for claim in whole.claims
    }
    assert _pairs(read(LabelText(text)).kinds()) == {(piece.substance, piece.kind) for piece in reading.evidence}
    cut_off = [piece for piece in reading.evidence if piece.kind is Kind.CUT_OFF]
    assert cut_off == ([whole.cut_off] if whole.cut_off is not None else [])


def _pairs(kinds: dict[str, set[Kind]]) -> set[tuple[str, Kind]]:
    return {(code, kind) for code, found in kinds.items() for kind in found}
