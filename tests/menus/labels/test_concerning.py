"""What a food's evidence means for a restriction on one substance."""

from __future__ import annotations

import pytest

from menus.labels.concerning import concerning
from menus.labels.evidence import ANY, Evidence, Kind, Level
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance

CATALOGUE = Catalogue.load()


@pytest.mark.parametrize(
    ("restriction", "substance", "kind", "bears"),
    [
        ("tree-nut", "tree-nut", Kind.NAMED, Kind.NAMED),
        ("tree-nut", "tree-nut.cashew", Kind.DERIVED, Kind.DERIVED),
        ("tree-nut.cashew", "tree-nut", Kind.DECLARED, Kind.GROUP),
        ("tree-nut.cashew", "tree-nut", Kind.MAY_CONTAIN, Kind.MAY_CONTAIN),
        ("tree-nut.cashew", "tree-nut.almond", Kind.NAMED, None),
        ("gluten", "wheat", Kind.NAMED, Kind.NAMED),
        ("gluten", "rye", Kind.NAMED, Kind.NAMED),
        ("wheat", "rye", Kind.NAMED, None),
        ("wheat", "gluten", Kind.NAMED, Kind.GROUP),
        ("gluten", "oat", Kind.NAMED, Kind.USUAL),
        ("gluten", "oat", Kind.MAY_CONTAIN, Kind.MAY_CONTAIN),
        ("wheat", "oat", Kind.NAMED, None),
        ("lactose", "milk", Kind.NAMED, Kind.USUAL),
        ("milk", "lactose", Kind.NAMED, None),
        ("pork", "gelatin", Kind.NAMED, Kind.USUAL),
        ("pork", "gelatin.beef", Kind.NAMED, None),
        ("meat", "lard", Kind.NAMED, Kind.NAMED),
        ("peanut", "tree-nut", Kind.NAMED, None),
        ("coconut", "tree-nut", Kind.NAMED, None),
        ("tree-nut", "coconut", Kind.NAMED, Kind.ONCE_MEMBER),
        ("tree-nut", "coconut", Kind.MAY_CONTAIN, Kind.ONCE_MEMBER),
        ("tree-nut.cashew", "coconut", Kind.NAMED, None),
        ("peanut", "coconut", Kind.NAMED, None),
        ("peanut", ANY, Kind.UNREAD_WORD, Kind.UNREAD_WORD),
        ("tree-nut.cashew", ANY, Kind.NO_LABEL, Kind.NO_LABEL),
    ],
)
def test_bearing(restriction: str, substance: str, kind: Kind, bears: Kind | None) -> None:
    """Itself and its members as they stand, its groups as possible, its carriers as possible, the rest not at all."""
    found = concerning(restriction, [Evidence(substance, kind)], CATALOGUE)
    assert [piece.kind for piece in found] == ([] if bears is None else [bears])


def test_the_chain_is_kept() -> None:
    """A piece made milder or graver still says where it came from."""
    piece = Evidence("tree-nut", Kind.DECLARED, term="tree nuts", source="somewhere")
    (found,) = concerning("tree-nut.pecan", [piece], CATALOGUE)
    assert (found.term, found.source, found.level) == ("tree nuts", "somewhere", Level.POSSIBLE)


def test_an_unknown_restriction_is_refused() -> None:
    """A typing slip in a restriction must never read as nothing found."""
    with pytest.raises(UnknownSubstance, match="Did you mean"):
        concerning("peanuts!", [], CATALOGUE)
