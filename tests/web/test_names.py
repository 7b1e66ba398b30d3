"""Names as a class knows them."""

from __future__ import annotations

from compliance.web.names import short_names
from roster.models import Child


def child(pk: int, given: str, family: str) -> Child:
    return Child(pk=pk, given_name=given, family_name=family)


def test_a_child_goes_by_given_name_and_initial() -> None:
    """Two with different initials stay short."""
    assert short_names([child(1, "Noor", "Aldane"), child(2, "Noor", "Brisk")]) == {1: "Noor A.", 2: "Noor B."}


def test_two_who_would_look_the_same_go_by_their_whole_names() -> None:
    """A plate must not reach the wrong one of them; the others stay short."""
    names = short_names([child(1, "Noor", "Aldane"), child(2, "Noor", "Abbey"), child(3, "Bao", "Abbey")])
    assert names == {1: "Noor Aldane", 2: "Noor Abbey", 3: "Bao A."}
