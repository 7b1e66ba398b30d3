"""The dry run of an import and its saving, the same for every kind of file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from typing import IO, Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from menus.imports.draft import UNCHANGED, VERBS, Draft, Step, write_steps
from menus.imports.kind import Kind
from menus.imports.problem import Problem, counted


class ImportRefused(Exception):
    """Nothing was saved; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What an import would do. Nothing is written before `save`, and then all of it or none.

    `digest` is the SHA-256 of the file, in hexadecimal, where the import came as one file.
    """

    kind: str
    draft: Draft
    redraft: Callable[[], Draft]
    digest: str = ""

    @property
    def problems(self) -> list[Problem]:
        """What must be mended before the file can be saved, in the order of the file."""
        return sorted(self.draft.problems, key=_place)

    @property
    def notes(self) -> list[Problem]:
        """What the person should know and need not mend."""
        return sorted(self.draft.notes, key=_place)

    @property
    def steps(self) -> list[Step]:
        """What saving would write."""
        return self.draft.steps

    @property
    def told(self) -> dict[str, list[str]]:
        """What saving means to people, line by line under headings."""
        return self.draft.told

    @property
    def mark(self) -> str:
        """What tells this dry run from another: 16 hexadecimal digits of the steps, or nothing where there are none."""
        steps = "\n".join(f"{each.action}|{each.noun}|{each.name}|{each.detail}" for each in self.steps)
        return sha256(steps.encode()).hexdigest()[:16] if steps else ""

    @property
    def summary(self) -> str:
        """One line such as “product: 3 new, 1 changed, 40 unchanged; label: 4 new”."""
        return "; ".join(f"{noun}: {_counted(tally)}" for noun, tally in self.draft.tally.items()) or "nothing to do"

    def save(self, user: AbstractBaseUser | None = None) -> None:
        """Write every step in one transaction. Raises ImportRefused, with nothing written, when that cannot be done."""
        if self.draft.problems:
            raise ImportRefused(f"Nothing was saved: the file has {counted(self.draft.problems)} and import it again.")
        try:
            with transaction.atomic(), ExitStack() as stack:
                for surround in AROUND_SAVING:
                    stack.enter_context(surround(self, user))
                self._write(user)
        except (ValidationError, IntegrityError) as error:
            told = " ".join(error.messages) if isinstance(error, ValidationError) else "the records changed meanwhile."
            raise ImportRefused(f"Nothing was saved: {told} Look at the dry run again.") from error

    def _write(self, user: AbstractBaseUser | None) -> None:
        # Drawn up again inside the transaction: what is saved is what was shown, or nothing is.
        fresh = self.redraft()
        if fresh.problems or fresh.steps != self.draft.steps:
            raise ImportRefused(
                "Nothing was saved: the records changed since this dry run, so it no longer says what saving would do. "
                "Look at the dry run again."
            )
        write_steps(fresh.steps, user)
        for write in fresh.afterwards:
            write(user)


AROUND_SAVING: list[Callable[[ImportPlan, AbstractBaseUser | None], AbstractContextManager[object]]] = []
"""What others wrap around the saving of any import, inside its transaction: the record of actions does."""


def plan_rows(kind: Kind, file: IO[bytes], **context: Any) -> ImportPlan:
    """Return the dry run of a CSV or XLSX file of this kind. Whatever the bytes, problems are listed, never raised."""
    sheet = kind.read(file)
    return plan_of(kind.name, partial(_drafted, kind, sheet.rows, sheet.problems, context), digest_of(file))


def plan_of(kind: str, redraft: Callable[[], Draft], digest: str = "") -> ImportPlan:
    """Return the plan whose draft that callable makes."""
    return ImportPlan(kind, redraft(), redraft, digest)


def digest_of(file: IO[bytes]) -> str:
    """Return the SHA-256 of the whole file, in hexadecimal; empty for a stream that cannot be read a second time."""
    if not file.seekable():
        return ""
    file.seek(0)
    taken = sha256()
    while part := file.read(1 << 20):
        taken.update(part)
    return taken.hexdigest()


def _drafted(kind: Kind, rows: Any, problems: tuple[Problem, ...], context: dict[str, Any]) -> Draft:
    draft = kind.draft(rows, **context)
    draft.problems.extend(problems)
    return draft


def _place(problem: Problem) -> tuple[str, int, str]:
    return problem.file, problem.row, problem.field


def _counted(count: Counter[str]) -> str:
    return ", ".join(f"{count[word]} {word}" for word in (*VERBS.values(), UNCHANGED) if count[word])
