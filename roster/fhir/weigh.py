"""One entry of a health record beside what is on record for the child: what it adds, and what it only proposes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from django.db.models import Q
from django.utils import timezone

from roster.fhir.lines import MOST_WORDS, TOLD, Line
from roster.fhir.naming import Meant
from roster.fhir.noted import Noted
from roster.fhir.patients import Patient
from roster.models import Child, Finding, Restriction, Strictness
from roster.models.restriction import MEDICAL


def line_of(entry: Noted, said: Meant) -> Line:
    """What the entry comes to, as far as it alone tells."""
    words = entry.code.words[:MOST_WORDS] or "nothing by name"
    told = (said.told[:200],) if said.told else tuple(TOLD.format(words=word[:MOST_WORDS]) for word in said.unknown)
    line = Line(entry.place, Finding.NEW, words, "", entry, adds=said.substances, told=told, offered=said.suggested)
    if said.nothing_known:
        sentence = "That takes nothing away from what is on record."
        return replace(line, finding=Finding.NOTHING, said=sentence, adds=(), told=(), offered=())
    if not entry.may_be_food:
        return _not_food(line)
    if entry.is_past or entry.is_denied:
        return replace(line, finding=Finding.END, adds=(), told=(), offered=said.substances)
    return replace(line, to_confirm=said.to_confirm or entry.has_modifier)


def _not_food(line: Line) -> Line:
    kinds = ", ".join(line.entry.categories) if line.entry else ""
    if line.adds:
        sentence = f"The record says {kinds}, and the name is that of a food. Tick it if it is to be kept away."
        return replace(line, finding=Finding.REVIEW, said=sentence, adds=(), told=(), offered=line.adds)
    sentence = f"The record says {kinds}: not taken over."
    return replace(line, finding=Finding.NOT_FOOD, said=sentence, told=(), offered=())


@dataclass(slots=True)
class Standing:
    """What is on record for a child as a matter of health, and what lines before this one add to it."""

    by_substance: dict[str, Restriction]
    told: set[str]
    added: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, child: Child) -> Standing:
        """Read it, but for what begins later and protects nobody yet. Two queries."""
        known = Restriction.objects.known(timezone.now()).filter(child=child, basis__in=MEDICAL, ends_on=None)
        begun = known.filter(Q(starts_on=None) | Q(starts_on__lte=child.today))
        rows = begun.select_related("review").order_by("pk")
        return cls(
            by_substance={row.substance: row for row in rows if row.substance},
            told={row.told for row in rows if not row.substance},
        )

    def covers(self, code: str) -> bool:
        """Whether it is on record down to traces, or a line before this one adds it."""
        row = self.by_substance.get(code)
        return code in self.added or (row is not None and row.strictness == Strictness.TRACE)

    def reviewed_milder(self, code: str) -> bool:
        """Whether licensed staff have signed that traces may be in it: a file does not overrule them."""
        row = self.by_substance.get(code)
        return row is not None and row.review_id is not None and row.strictness != Strictness.TRACE


def beside(line: Line, child: Child | None, standing: Standing) -> Line:
    """The line beside what is on record for the child."""
    line = replace(line, child=child)
    if line.finding is Finding.END:
        return _proposed(line, standing)
    if line.finding is not Finding.NEW:
        return line
    signed = tuple(code for code in line.adds if standing.reviewed_milder(code))
    kept = tuple(code for code in line.adds if standing.covers(code))
    adds = tuple(code for code in line.adds if code not in (*signed, *kept))
    told = tuple(text for text in line.told if text not in standing.told)
    is_unknown = bool(line.told)
    standing.added.update(adds)
    standing.told.update(told)
    offered = tuple(code for code in line.offered if not standing.covers(code))
    line = replace(line, adds=adds, told=told, kept=kept, offered=(*signed, *offered))
    if is_unknown:
        return replace(line, finding=Finding.UNKNOWN, said="Our lists do not hold these words. They stand as written.")
    if adds:
        return line
    if signed:
        sentence = "Licensed staff have signed that it is kept away as an ingredient. Tick it to reach to traces again."
        return replace(line, finding=Finding.REVIEW, said=sentence)
    return replace(line, finding=Finding.KNOWN, offered=(), said="Down to traces.")


def _proposed(line: Line, standing: Standing) -> Line:
    entry = line.entry
    assert entry is not None
    how = f"The record says “{entry.verification if entry.is_denied else entry.clinical}”."
    ends = tuple(standing.by_substance[code] for code in line.offered if code in standing.by_substance)
    if ends:
        sentence = f"{how} It stays on record, and protects, until licensed staff end it with a reason and a signature."
        return replace(line, ends=ends, offered=(), said=sentence)
    sentence = f"{how} Nothing of it is on record, so nothing is added. Look whether that is right."
    return replace(line, finding=Finding.REVIEW, said=sentence)


def unmatched(line: Line, patient: Patient) -> Line:
    sentence = f"It is not settled which child in your care is {patient.shown}. Say so, or write it down by hand."
    return Line(line.place, Finding.UNMATCHED, line.words, sentence, line.entry)
