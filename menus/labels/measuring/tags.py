"""Labels that people tagged with allergens and traces: recall only, for a missing tag says little.

Traces are counted where the text warns of anything at all: many were read off a part of the package that is not there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from menus.labels.evidence import Kind
from menus.labels.measuring.proportion import Figure, Proportion
from menus.labels.measuring.rows import Row, codes, jurisdiction_of
from menus.labels.measuring.said import said_of

_WARNING = {Kind.MAY_CONTAIN.value, Kind.SHARED_LINE.value, Kind.SHARED_FACILITY.value}


@dataclass(slots=True)
class Tags:
    """Found by substance: the tags of ingredients, and those of traces."""

    title = "labels that people tagged"
    found: dict[str, Proportion] = field(default_factory=dict)
    traces: dict[str, Proportion] = field(default_factory=dict)
    all_read: Proportion = field(default_factory=Proportion)
    errors: list[Row] = field(default_factory=list)

    def add(self, row: Row) -> None:
        said = said_of(row["text"], jurisdiction=jurisdiction_of(row))
        self.all_read.add(not said.unread)
        tagged, traces = codes(row["allergens_eu14"]), codes(row["traces_eu14"])
        for code in tagged:
            self.found.setdefault(code, Proportion()).add(code in said.found)
        if not any(_WARNING & set(kinds) for kinds in said.kinds.values()):
            traces = frozenset()
        for code in traces - tagged:
            self.traces.setdefault(code, Proportion()).add(code in said.found)
        if not tagged | traces <= said.found:
            self.errors.append(
                {
                    "id": row["id"],
                    "text": row["text"],
                    "missed": sorted(tagged - said.found),
                    "missed_traces": sorted(traces - tagged - said.found),
                }
            )

    def figures(self) -> Iterator[Figure]:
        yield Figure("tagged as ingredient: found", _sum(self.found))
        yield Figure("tagged as traces: found", _sum(self.traces))
        for code in sorted(self.found):
            yield Figure(f"found {code}", self.found[code])
        for code in sorted(self.traces):
            yield Figure(f"found traces of {code}", self.traces[code])
        yield Figure("no unread word", self.all_read)

    def notes(self) -> Iterator[str]:
        yield from ()


def _sum(counts: dict[str, Proportion]) -> Proportion:
    total = Proportion()
    for count in counts.values():
        total.add(count.hits, count.of)
    return total
