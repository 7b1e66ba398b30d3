"""An incident as a PDF for licensed staff and administrators: what was seen, what was on record, what was added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from compliance.models import Incident, IncidentNote
from compliance.reports.typeset import as_of_line, paper_of, typeset

Plain = dict[str, Any]


@dataclass(frozen=True, slots=True)
class IncidentReport:
    """What is printed. `is_whole`: it still says what it said when it was opened."""

    incident: Incident
    notes: Sequence[IncidentNote]
    as_of: datetime
    is_whole: bool
    cautions: Sequence[str]


def incident_pdf(report: IncidentReport) -> bytes:
    """Return the report as a tagged PDF."""
    return typeset("incident.typ", incident_data(report))


def incident_data(report: IncidentReport) -> Plain:
    """Return what the template sets: plain texts."""
    incident, zone = report.incident, report.incident.site.zone
    found = incident.gathered

    def clock(moment: datetime) -> str:
        return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"

    as_of = as_of_line(report.as_of, zone)
    return {
        "title": f"Incident {incident.pk}, {incident.site}",
        "heading": f"Incident {incident.pk}: {incident.get_kind_display().lower()}",
        "paper": paper_of(incident.site),
        "place": f"{incident.child}, {', '.join(room['name'] for room in found['classes'])}, {incident.site}. {as_of}",
        "facts": [
            ["Noticed", clock(incident.noticed_at)],
            ["Written down", f"{clock(incident.recorded_at)} by {incident.opened_by}"],
            ["What was seen", incident.seen],
            ["Eaten or touched", incident.food or "Not said"],
            ["Where it came from", incident.given_by or "Not said"],
        ],
        "notes": [f"{clock(note.recorded_at)}, {note.written_by}: {_text(note)}" for note in report.notes],
        "gathered": f"Of {found['first']} and {found['day']}, gathered {clock(_moment(found['gathered_at']))}",
        "restrictions": [
            f"{row['what']} ({row['reach'].lower()}): {row['state'].lower()}, version {row['version']}"
            for row in found["restrictions"]
        ],
        "allowances": [
            f"{row['kind']} {row['term'] or row['about']}, until {row['ends_on']}, signed {row['signature']}"
            for row in found["allowances"]
        ],
        "servings": [_serving(row) for row in found["servings"]],
        "treats": [_treat(row) for row in found["treats"]],
        "deeds": [_deed(row) for row in found["kitchen"]]
        + [f"{row['at']}: {row['what']} washed: {row['how']}" for row in found["table"]],
        "runs": [f"Check {row['id']}, as of {row['as_of']}, result {row['result'][:16]}" for row in found["runs"]],
        "whole": _whole(report),
        "cautions": list(report.cautions),
        "foot": f"Incident {incident.pk}, {incident.site}. {as_of} Holds data on a child's health: keep it closed.",
    }


def _moment(written: str) -> datetime:
    return datetime.fromisoformat(written)


def _text(note: IncidentNote) -> str:
    return f"{note.text} (closed)" if note.closes else note.text


def _serving(row: Plain) -> list[str]:
    labels = "; ".join(f"{each['product']}, label {each['version']} of {each['seen_on']}" for each in row["labels"])
    without = f"{row['unlabelled']} without a label" if row["unlabelled"] else ""
    why = "; ".join(f"{each['substance']}: {' '.join(each['why'])}" for each in row["reasons"])
    dish = f"{row['dish']} (taken off the plan)" if row["withdrawn"] else row["dish"]
    return [
        f"{row['date']}, {row['meal'].lower()}",
        dish,
        "; ".join(filter(None, [labels, without])) or "No recipe on record",
        f"{row['outcome']}. {why}" if why else row["outcome"],
    ]


def _treat(row: Plain) -> str:
    handed = f"handed out {', '.join(row['handed_out'])}" if row["handed_out"] else "not recorded as handed out"
    label = f"label {row['label_version']}" if row["label"] else "no label"
    return f"{row['for']}: {row['food']} ({label}), {handed}. For this child: {row['outcome']}. Check {row['id']}."


def _deed(row: Plain) -> str:
    late = ", entered late" if row["late"] else ""
    note = f" “{row['note']}”" if row["note"] else ""
    return f"{row['at']}, {row['kitchen']}: {row['what'].lower()}: {', '.join(row['about'])}{late}.{note}"


def _whole(report: IncidentReport) -> str:
    digest = report.incident.digest
    if report.is_whole:
        return f"What was said and gathered is as it was when it was opened: SHA-256 {digest}."
    return f"This is NOT what was said and gathered when it was opened: its SHA-256 is not {digest}. Tell the auditor."
