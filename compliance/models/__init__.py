"""Runs, verdicts, referrals and treat checks, as stored."""

from compliance.models.announcement import Announcement
from compliance.models.escalation import Escalation, Step
from compliance.models.incident import Incident, IncidentNote
from compliance.models.referral import Referral
from compliance.models.run import Run, RunRestriction
from compliance.models.table import TableEvent
from compliance.models.treat import TreatCheck
from compliance.models.verdict import OUTCOMES, PreparedDish, RestrictionTypeRow, ServedDish, Verdict

__all__ = [
    "OUTCOMES",
    "Announcement",
    "Escalation",
    "Incident",
    "IncidentNote",
    "PreparedDish",
    "Referral",
    "RestrictionTypeRow",
    "Run",
    "RunRestriction",
    "ServedDish",
    "Step",
    "TableEvent",
    "TreatCheck",
    "Verdict",
]
