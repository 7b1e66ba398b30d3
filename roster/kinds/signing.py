"""Who may sign a medical statement, and what it must hold, by program and day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from roster.kinds.table import rows


@dataclass(frozen=True, slots=True)
class Signer:
    """A profession whose signature a program accepts between two days, both included."""

    program: str  # "nslp" | "cacfp"
    signer: str
    effective_from: date
    effective_to: date | None
    who: str
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class StatementPart:
    """One thing that a statement says."""

    part: str
    what: str
    needed: str  # "required" | "if it applies"
    source: str
    verified: str


@cache
def signers() -> tuple[Signer, ...]:
    """Return every row of the file."""
    return tuple(_signer(row) for row in rows("signers.csv"))


def _signer(row: dict[str, Any]) -> Signer:
    begins, ends = (date.fromisoformat(row[name]) if row[name] else None for name in ("effective_from", "effective_to"))
    return Signer(**{**row, "effective_from": begins, "effective_to": ends})


def may_sign(program: str, signed_on: date) -> tuple[Signer, ...]:
    """Return whose signature the program must accept on a statement signed that day. Empty: the program is unknown."""
    return tuple(
        row
        for row in signers()
        if row.program == program
        and row.effective_from <= signed_on
        and (row.effective_to is None or signed_on <= row.effective_to)
    )


@cache
def statement_parts() -> tuple[StatementPart, ...]:
    """Return what a statement must hold."""
    return tuple(StatementPart(**row) for row in rows("statement_parts.csv"))


def wanting(program: str, signer: str, signed_on: date, said: Mapping[str, str]) -> tuple[str, ...]:
    """Return what the rules ask of a statement and this one lacks, a sentence each. Its clear part holds all the same.

    `said` holds the statement's words by part; a part that is not in it was not looked for.
    """
    lacking = [
        f"It does not say: {part.what[:1].lower()}{part.what[1:]} ({part.source})."
        for part in statement_parts()
        if part.part in said and not said[part.part].strip()
    ]
    return (*_unaccepted(program, signer, signed_on), *lacking)


def _unaccepted(program: str, signer: str, signed_on: date) -> tuple[str, ...]:
    if signer in {row.signer for row in may_sign(program, signed_on)}:
        return ()
    later = [row for row in signers() if (row.program, row.signer) == (program, signer)]
    if later:
        first = min(row.effective_from for row in later)
        return (f"{later[0].who}: the program must accept it from {first} on ({later[0].source}).",)
    return ("The program need not accept the signature of this profession. Ask for one of those who may sign.",)
