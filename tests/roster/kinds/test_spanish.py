"""Spanish names: for things that exist, and each word for one thing alone."""

from __future__ import annotations

from collections import Counter

from menus.substances.catalogue import Catalogue
from roster.kinds.kind import restriction_kinds
from roster.kinds.signing import signers, statement_parts
from roster.kinds.spanish import name_in, spanish_rows


def test_every_row_names_something_that_exists_once() -> None:
    """And says whether its Spanish was read or comes from memory."""
    known = {
        "substance": {substance.code for substance in Catalogue.load()},
        "kind": set(restriction_kinds()),
        "part": {part.part for part in statement_parts()},
        "signer": {row.signer for row in signers()},
    }
    assert all(row.code in known[row.of] and row.verified in {"read", "memory"} for row in spanish_rows())
    assert max(Counter((row.of, row.code) for row in spanish_rows()).values()) == 1


def test_no_word_stands_for_two_substances() -> None:
    """Else what a family writes would be taken for one of them by chance."""
    words = [
        (word.casefold(), row.code) for row in spanish_rows() if row.of == "substance" for word in (row.es, *row.also)
    ]
    holders: dict[str, set[str]] = {}
    for word, code in words:
        holders.setdefault(word, set()).add(code)
    assert not {word: codes for word, codes in holders.items() if len(codes) > 1}


def test_all_parts_of_a_statement_and_all_who_sign_have_a_name() -> None:
    """The paper form is whole in Spanish."""
    assert all(name_in("es", "part", part.part, "") for part in statement_parts())
    assert all(name_in("es", "signer", row.signer, "") for row in signers())


def test_another_language_and_a_missing_name_stay_english() -> None:
    """Never nothing."""
    assert name_in("en", "substance", "milk", "milk") == "milk"
    assert name_in("es", "substance", "milk", "milk") == "leche"
    assert name_in("es", "substance", "fish.wahoo", "wahoo") == "wahoo"
