"""Steps are written in their order, those that may go together at once."""

from __future__ import annotations

from functools import partial
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from menus.imports.draft import AT_ONCE, Action, InBulk, Step, write_steps


class Book:
    """What was written: each call with its rows."""

    def __init__(self) -> None:
        self.calls: list[list[str]] = []

    def all(self, rows: list[str], user: Any) -> None:
        """Many rows at once."""
        self.calls.append([f"{row} by {user}" for row in rows])

    def others(self, rows: list[str], user: Any) -> None:
        """Many rows of another kind."""
        self.all(rows, user)

    def one(self, row: str, user: Any) -> None:
        """A row by itself."""
        self.all([row], user)


def step(write: Any) -> Step:
    return Step(Action.CREATE, "child", "", "", write)


def test_what_stands_together_goes_together_and_nothing_overtakes() -> None:
    """A child's end of one enrolment comes before the begin of the next."""
    book = Book()
    writes = [
        *(InBulk(book.all, row) for row in "ab"),
        partial(book.one, "c"),
        InBulk(book.all, "d"),
        InBulk(book.others, "e"),
        InBulk(book.others, "f"),
    ]
    write_steps(map(step, writes), "June")
    assert [[said[0] for said in call] for call in book.calls] == [["a", "b"], ["c"], ["d"], ["e", "f"]]
    assert book.calls[0] == ["a by June", "b by June"]


def test_no_more_at_once_than_a_query_may_take() -> None:
    book = Book()
    write_steps((step(InBulk(book.all, str(number))) for number in range(2 * AT_ONCE + 1)), None)
    assert [len(call) for call in book.calls] == [AT_ONCE, AT_ONCE, 1]


@given(st.lists(st.booleans()))
def test_every_step_is_written_once_in_its_order(together: list[bool]) -> None:
    book = Book()
    rows = [(str(number), bulk) for number, bulk in enumerate(together)]
    write_steps((step(InBulk(book.all, row) if bulk else partial(book.one, row)) for row, bulk in rows), None)
    assert [said for call in book.calls for said in call] == [f"{row} by None" for row, _ in rows]


def test_a_step_alone_writes_itself() -> None:
    book = Book()
    step(InBulk(book.all, "a")).write("June")
    assert book.calls == [["a by June"]]
