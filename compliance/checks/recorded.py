"""Which tables of the judgement are watched, which record themselves, and which need no entry (see `roster.record`)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import models

from compliance.models import (
    Announcement,
    CheckedDay,
    DeadLetter,
    DishVerdicts,
    Escalation,
    FoodRead,
    Incident,
    IncidentNote,
    MealJob,
    MealPlan,
    Night,
    NightSlice,
    OutgoingMail,
    Panel,
    PreparedDish,
    Referral,
    RestrictionTypeRow,
    Run,
    RunRestriction,
    ServedDish,
    TableEvent,
    TreatCheck,
    UnreadChange,
)
from roster.models import Verb
from roster.record.together import gathering
from roster.record.watch import Watch
from roster.record.write import record


def answered(check: Any) -> dict[str, Any]:
    """What a treat check answered, in numbers of children alone."""
    return (
        {outcome: sorted({row["child_id"] for row in check.result[outcome]}) for outcome in ("withhold", "refer")}
        | _textured(check)
        | {"none_found": check.result["none_found"]}
    )


def _textured(check: Any) -> dict[str, Any]:
    """The children referred for the texture of the food, where there are any."""
    found = sorted(row["child_id"] for row in check.result.get("texture", []))
    return {"texture": found} if found else {}


def note_asked(referrals: Sequence[Referral]) -> None:
    """Put questions to licensed staff on record: in the entry of the check that raised them, where there is one."""
    if not referrals:
        return
    asked = told_of(referrals)
    check = gathering()
    if check:
        check.said["asked"] = [*check.said.get("asked", []), *asked]
    else:
        first = referrals[0]
        record(Verb.ASKED, "referrals", site=first.site, by=first.asked_by_id, asked=asked)


def told_of(referrals: Iterable[Referral]) -> list[dict[str, Any]]:
    """Return questions as the record of actions tells them."""
    return [{"child": each.child_id, **_about(each)} for each in referrals]


def _about(referral: Referral) -> dict[str, Any]:
    if referral.texture_id:
        return {"texture": referral.texture_id}
    return {"restriction": referral.restriction_id, "about": referral.about}


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
    DeadLetter: "compliance.checks.nights.letters.settle, when a person settles it; else it says what a run says",
    MealPlan: "compliance.checks.wholemeals.keep: who had it worked out, and what it came to",
    Run: "compliance.checks.run.check_site, when it has come to its end",
}
"""What records itself, and where."""

NO_ENTRY: dict[type[models.Model], str] = {
    MealJob: "the plans that come of it are on record",
    Night: "the runs that it brings are on record",
    NightSlice: "the runs that it brings are on record",
    Announcement: "worked out by a run, which is on record",
    OutgoingMail: "tells of what is on record; whoever has it tried again is put on record by the page",
    RestrictionTypeRow: "worked out by a run",
    PreparedDish: "worked out by a run",
    ServedDish: "worked out by a run",
    CheckedDay: "worked out by a run",
    Panel: "worked out by a run",
    DishVerdicts: "worked out by a run",
    FoodRead: "worked out by a run",
    RunRestriction: "worked out by a run",
    UnreadChange: "a note that a change, which is on record, is to be read by a check",
}
"""What needs no entry, and why."""
