"""Which tables of the judgement are watched, which record themselves, and which need no entry (see `roster.record`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import models

from compliance.models import (
    Announcement,
    Escalation,
    Incident,
    IncidentNote,
    PreparedDish,
    Referral,
    RestrictionTypeRow,
    Run,
    RunRestriction,
    ServedDish,
    TableEvent,
    TreatCheck,
    Verdict,
)
from roster.models import Verb
from roster.record.together import gathering
from roster.record.watch import Watch
from roster.record.write import record


def answered(check: Any) -> dict[str, Any]:
    """What a treat check answered, in numbers of children alone."""
    return {
        outcome: sorted({row["child_id"] for row in check.result[outcome]}) for outcome in ("withhold", "refer")
    } | {"none_found": check.result["none_found"]}


def note_asked(referrals: Sequence[Referral]) -> None:
    """Put questions to licensed staff on record: in the entry of the check that raised them, where there is one."""
    if not referrals:
        return
    asked = [{"child": each.child_id, "restriction": each.restriction_id, "about": each.about} for each in referrals]
    check = gathering()
    if check:
        check.said["asked"] = [*check.said.get("asked", []), *asked]
    else:
        first = referrals[0]
        record(Verb.ASKED, "referrals", site=first.site, by=first.asked_by_id, asked=asked)


WATCHED: dict[type[models.Model], Watch] = {
    TreatCheck: Watch(site=lambda row: row.classroom.site, verb=Verb.CHECKED, hidden=("result", "food"), says=answered),
    TableEvent: Watch(site=lambda row: row.classroom.site),
}
"""By signals. A treat check made through `check_said` is one entry with the label and the questions it brought."""

BY_SERVICE: dict[type[models.Model], str] = {
    Referral: "compliance.checks.referrals: asked by `ask`, answered by `answer_referrals`",
    Incident: "compliance.checks.incident",
    IncidentNote: "compliance.checks.incident",
    Escalation: "compliance.checks.escalation: one entry for each step at each site",
    Run: "compliance.checks.run.check_site, when it has come to its end",
}
"""What records itself, and where."""

NO_ENTRY: dict[type[models.Model], str] = {
    Announcement: "worked out by a run, which is on record",
    RestrictionTypeRow: "worked out by a run",
    PreparedDish: "worked out by a run",
    ServedDish: "worked out by a run",
    Verdict: "worked out by a run",
    RunRestriction: "worked out by a run",
}
"""What needs no entry, and why."""
