"""Look for gaps and edits in the record of actions."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import reduce
from itertools import groupby
from operator import attrgetter, or_

from django.db.models import Q

from roster.models.action import Action, ChainEnd, Verb
from roster.record.chain import START, digest_of, proof_of_end, seal, written
from roster.record.write import payload_of, place_of, record_key


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with the record, and where."""

    chain: int
    number: int
    what: str


def faults(chains: Collection[int] | None = None) -> Iterator[Fault]:
    """Yield every fault of those chains, or of all. One pass over the record, however long."""
    all_ends, all_rows = ChainEnd.objects.all(), Action.objects.order_by("chain", "number")
    if chains is not None:
        all_ends, all_rows = all_ends.filter(chain__in=chains), all_rows.filter(chain__in=chains)
    ends = {end.chain: end for end in all_ends}
    rows = all_rows.iterator(chunk_size=2000)
    for chain, entries in groupby(rows, key=attrgetter("chain")):
        yield from _faults_of(chain, entries, ends.pop(chain, None))
    for chain, end in ends.items():
        yield Fault(chain, end.number, "The chain is said to have entries, and none is there.")


class State(StrEnum):
    """How an entry stands by itself and to the one before it, in words. Whether a purge emptied it, `faults` tells."""

    WHOLE = "as it was written"
    EMPTIED = "emptied"
    CHANGED = "changed: it does not fit its seal"


def states(entries: Sequence[Action]) -> list[State]:
    """Return how each of the entries stands. One query, for the seals before them."""
    wanted = [Q(chain=entry.chain, number=entry.number - 1) for entry in entries if entry.number > 1]
    befores = Action.objects.filter(reduce(or_, wanted)).values_list("chain", "number", "seal") if wanted else []
    seals = {(chain, number): seal for chain, number, seal in befores}
    return [_state(entry, seals.get((entry.chain, entry.number - 1), START)) for entry in entries]


def _state(entry: Action, before: str) -> State:
    fits = entry.seal == seal(record_key(), place_of(entry), entry.digest, before)
    if not fits or (entry.payload and any(_faults_in(entry))):
        return State.CHANGED
    return State.WHOLE if entry.payload else State.EMPTIED


def _faults_of(chain: int, entries: Iterator[Action], end: ChainEnd | None) -> Iterator[Fault]:
    key, before, number = record_key(), START, 0
    emptied: dict[int, str] = {}
    purged: dict[int, str] = {}
    for row in entries:
        number += 1
        if row.number != number:
            yield Fault(chain, number, f"Entries are missing: after {number - 1} comes {row.number}.")
            number = row.number
        if row.payload:
            yield from _faults_in(row)
            purged.update(_purged_by(row))
        else:
            emptied[row.number] = row.digest
        if row.seal != seal(key, place_of(row), row.digest, before):
            yield Fault(chain, number, "The seal does not fit the entry before it and this one.")
        before = row.seal
    for place, digest in emptied.items():
        if purged.get(place) != digest:
            yield Fault(chain, place, "The entry is empty, and no purge on record emptied it.")
    if end is None or (end.number, end.seal) != (number, before):
        yield Fault(chain, number, "The chain does not end where it is said to end: entries are missing or added.")
    elif end.proof != proof_of_end(key, chain, end.number, end.seal):
        yield Fault(chain, number, "The proof of the chain's end was not made with this record's key.")


def _faults_in(row: Action) -> Iterator[Fault]:
    """An entry whose text is not what was sealed, or whose columns do not say what its text says."""
    if digest_of(row.payload) != row.digest:
        yield Fault(row.chain, row.number, "The entry's text was changed.")
        return
    kept = json.loads(row.payload)
    if written(payload_of(row, kept["said"])) != row.payload:
        yield Fault(row.chain, row.number, "The entry's columns were changed.")


def _purged_by(row: Action) -> dict[int, str]:
    """The digests of the entries that this one says were purged, by their number."""
    if row.verb != Verb.PURGED:
        return {}
    said = json.loads(row.payload)["said"]
    return {int(number): digest for number, digest in said["entries"].items()}
