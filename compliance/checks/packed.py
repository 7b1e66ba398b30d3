"""A dish as prepared in few bytes: its pieces of evidence with their chains, and its fingerprint."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Evidence, Kind, Part, Span, Step


@dataclass(frozen=True, slots=True)
class Packed:
    """A dish as it is stored."""

    key: str  # SHA-256, hexadecimal
    evidence: bytes
    order: tuple[int, ...]  # where each stored piece stood among those given, each different piece once


def packed(recipe: int, version: int | None, pieces: Iterable[Evidence]) -> Packed:
    """Return the dish as it is stored: the same in whatever order, and however often, its pieces are given."""
    places: dict[str, int] = {}
    for place, piece in enumerate(pieces):
        places.setdefault(_line(piece), place)
    lines = sorted(places)
    text = f"[{','.join(lines)}]".encode()
    key = hashlib.sha256(f"{recipe}:{version}:".encode() + text).hexdigest()
    return Packed(key, zlib.compress(text, 1), tuple(places[line] for line in lines))


def unpacked(evidence: bytes) -> Pieces:
    """Return the pieces of a stored dish, in the order in which they are stored."""
    return tuple(_piece(row) for row in json.loads(zlib.decompress(evidence)))


def _line(piece: Evidence) -> str:
    span = piece.span
    row = [
        piece.substance,
        piece.kind,
        [span.part, span.start, span.end, span.words] if span else None,
        piece.term,
        piece.source,
        piece.verified,
        [[step.kind, step.ref, step.name] for step in piece.path],
    ]
    return json.dumps(row, separators=(",", ":"), ensure_ascii=False)


def _piece(row: list[Any]) -> Evidence:
    substance, kind, span, term, source, verified, path = row
    return Evidence(
        substance,
        Kind(kind),
        Span(Part(span[0]), *span[1:]) if span else None,
        term,
        source,
        verified,
        tuple(Step(*step) for step in path),
    )
