"""Claims of absence: kept and shown, never believed."""

from __future__ import annotations

from dataclasses import dataclass

from menus.labels.evidence import Span


@dataclass(frozen=True, slots=True)
class Claim:
    """The label says it is free of these substances; what it does contain is decided by its ingredients alone."""

    span: Span
    substances: tuple[str, ...]
    term: str
    denied: tuple[str, ...] = ()  # those it speaks of by name: "lactose-free" denies lactose, not milk
    reach: Span | None = None  # the ingredient it is said of, with its brackets; None: the whole label
