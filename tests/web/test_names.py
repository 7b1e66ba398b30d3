"""Names as a class knows them."""

from __future__ import annotations

from datetime import date
from typing import Any

from compliance.web.names import short_names, whole_names
from roster.models import Child


def child(pk: int, given: str, family: str, **more: Any) -> Child:
    return Child(pk=pk, given_name=given, family_name=family, **more)


def test_a_child_goes_by_given_name_and_initial() -> None:
    """Two with different initials stay short."""
    assert short_names([child(1, "Noor", "Aldane"), child(2, "Noor", "Brisk")]) == {1: "Noor A.", 2: "Noor B."}


def test_two_who_would_look_the_same_go_by_their_whole_names() -> None:
    """A plate must not reach the wrong one of them; the others stay short."""
    names = short_names([child(1, "Noor", "Aldane"), child(2, "Noor", "Abbey"), child(3, "Bao", "Abbey")])
    assert names == {1: "Noor Aldane", 2: "Noor Abbey", 3: "Bao A."}


def test_two_of_the_same_name_are_told_apart_by_their_birthday() -> None:
    """S80. Basis: design. The year is nobody's concern; a third child keeps the plain name."""
    same = [child(1, "Noor", "Aldane", birth_date=date(2020, 5, 3)), child(2, "Noor", "Aldane", birth_date=None)]
    names = whole_names([*same, child(3, "Bao", "Abbey", birth_date=date(2020, 5, 3))])
    assert names == {1: "Noor Aldane, born 3 May", 2: "Noor Aldane, birthday not on record", 3: "Bao Abbey"}
    assert short_names(same) == {1: names[1], 2: names[2]}


def test_those_who_share_the_birthday_as_well_go_by_their_number() -> None:
    """That of the school's own system, where it gave one."""
    born = date(2020, 5, 3)
    twins = [
        child(1, "Noor", "Aldane", birth_date=born, source_id="A-17"),
        child(2, "noor", "aldane", birth_date=born),
    ]
    names = whole_names(twins)
    assert names == {1: "Noor Aldane, born 3 May, number A-17", 2: "noor aldane, born 3 May, number 2"}
