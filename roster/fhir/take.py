"""Receive a file of health records, keep it as it came, and take over what protects. It never makes anything milder."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Q, QuerySet

from menus.sealed import with_its_row
from roster.fhir.files import HealthFile, open_file
from roster.fhir.lines import Line, Plan
from roster.fhir.plan import plan_of
from roster.kinds.kind import RestrictionKind, restriction_kinds
from roster.life.report import Said, protect
from roster.models import (
    Child,
    Finding,
    HealthItem,
    HealthItemSeen,
    HealthMatch,
    HealthRecord,
    Restriction,
    User,
    Verb,
)
from roster.record.write import record

Ticked = Mapping[str, Sequence[str]]
"""Substances that a person ticked among those offered, by the place of the entry."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of it. `asks` are the restrictions about whose words licensed staff are to be asked."""

    recorded: tuple[Restriction, ...]
    asks: tuple[Restriction, ...]


def receive(data: bytes, *, by: User | None) -> HealthRecord:
    """Keep a file, encrypted, before anything is made of it. Raises Unreadable for what is no FHIR in JSON."""
    open_file(data)
    kept = HealthRecord(sha256=hashlib.sha256(data).hexdigest(), received_by=by)
    with with_its_row(kept.file):
        kept.file.save("record", ContentFile(data), save=False)
        kept.save()
        record(Verb.IMPORTED, kept, by=by.pk if by else None, sha256=kept.sha256, bytes=len(data))
    return kept


def opened(kept: HealthRecord) -> HealthFile:
    """Return the kept file taken apart. Raises KeyLost where no key opens it, FileNotFoundError where it is missing."""
    with kept.file.open("rb") as file:
        return open_file(file.read())


def planned(kept: HealthRecord, among: QuerySet[Child]) -> Plan:
    """Return what the kept file comes to now, with the children that people confirmed for its patients."""
    return plan_of(opened(kept), among, {each.patient: each.child_id for each in kept.matches.order_by("pk")})


def confirm(kept: HealthRecord, patient: str, child: Child, *, by: User | None) -> HealthMatch:
    """Record a person's word on whose record it is."""
    said = HealthMatch.objects.create(record=kept, patient=patient, child=child, confirmed_by=by)
    record(Verb.RECORDED, said, site=child.site, child=child, by=by.pk if by else None, record=kept.pk)
    return said


@transaction.atomic
def take_over(kept: HealthRecord, plan: Plan, *, ticked: Ticked, by: User | None) -> Taken:
    """Write what protects, and list what needs a look. Done twice, it adds nothing twice."""
    HealthRecord.objects.select_for_update().get(pk=kept.pk)  # nor done by two people at once
    recorded: list[Restriction] = []
    asks: list[Restriction] = []
    for line in plan.lines:
        done = _written(line, [code for code in line.offered if code in ticked.get(line.place, ())], by)
        recorded.extend(done)
        asks.extend(each for each in done if not each.substance)
        _listed(kept, line)
    _settle_found(kept, plan, by)
    _noted(kept, plan, recorded, by)
    return Taken(tuple(recorded), tuple(asks))


def _written(line: Line, ticked: Sequence[str], by: User | None) -> list[Restriction]:
    codes = [*line.adds, *ticked]
    if line.child is None or not (codes or line.told):
        return []
    note = _note(line)
    reports = [
        protect(child=line.child, said=Said(_kind(line, code), [code], note=note), reported_by=by) for code in codes
    ]
    reports += [
        protect(child=line.child, said=Said(None, (), told=text, note=note), reported_by=by) for text in line.told
    ]
    return [version for done in reports for version in done.recorded]


def _kind(line: Line, code: str) -> RestrictionKind | None:
    """The kind that the record itself says: an allergy to that one food. An intolerance is left for staff to name."""
    if line.entry is None or line.entry.kind != "allergy":
        return None
    return next((each for each in restriction_kinds().values() if _is_allergy_to(each, code)), None)


def _is_allergy_to(kind: RestrictionKind, code: str) -> bool:
    return kind.family == "allergy" and kind.substances == (code,)


def _note(line: Line) -> str:
    """The words of the record, and how sure it is. A record is no signed statement, however sure it is."""
    entry = line.entry
    said = [entry.kind, entry.verification, f"recorded {entry.recorded}" if entry.recorded else ""] if entry else []
    return "; ".join([f"Health record: “{line.words}”", *filter(None, said)])[:200]


def _listed(kept: HealthRecord, line: Line) -> None:
    if not line.needs_eyes:
        return
    for restriction in line.ends or (None,):
        HealthItem.objects.get_or_create(
            record=kept,
            place=line.place,
            finding=line.finding,
            restriction=restriction,
            words=line.words[:200],
            child=line.child,
            defaults={"said": line.said or _to_confirm(line)},
        )


def _settle_found(kept: HealthRecord, plan: Plan, by: User | None) -> None:
    """What waited because nobody was found is seen to once a person has named the child."""
    if by is None:
        return
    found = {line.place for line in plan.lines if line.child}
    for item in HealthItem.objects.filter(record=kept, finding=Finding.UNMATCHED, seen=None, place__in=found):
        see_to(item, note="The child was named, and the entry taken over.", by=by)


def _to_confirm(line: Line) -> str:
    return "Its words may mean more than one food, or say more than a name. Read them and confirm what is meant."


def _noted(kept: HealthRecord, plan: Plan, recorded: Iterable[Restriction], by: User | None) -> None:
    """One entry for each child, and none where nothing was written."""
    by_child: dict[int, list[Restriction]] = {}
    for each in recorded:
        by_child.setdefault(each.child_id, []).append(each)
    for same in by_child.values():
        child = same[0].child
        record(
            Verb.IMPORTED,
            kept,
            site=child.site,
            child=child,
            by=by.pk if by else None,
            restrictions=[each.pk for each in same],
            findings={Finding(finding).value: count for finding, count in plan.counts},
        )


def see_to(item: HealthItem, *, note: str, by: User) -> HealthItemSeen:
    """Record that licensed staff saw to an item. The first who did stands; what protects is not touched by it."""
    seen, is_new = HealthItemSeen.objects.get_or_create(item=item, defaults={"note": note.strip(), "seen_by": by})
    if is_new:
        site = item.child.site if item.child else None
        record(Verb.ANSWERED, seen, site=site, child=item.child, by=by.pk, item=item.pk, note=seen.note)
    return seen


def items_for(children: QuerySet[Child], records: QuerySet[HealthRecord]) -> QuerySet[HealthItem]:
    """Return the open items about those children, and those about nobody found in those files."""
    about = Q(child__in=children) | Q(child=None, record__in=records)
    return HealthItem.objects.filter(about, seen=None).select_related("child", "restriction", "record").order_by("pk")
