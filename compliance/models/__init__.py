"""Runs, verdicts, referrals and treat checks, as stored."""

from compliance.models.announcement import Announcement
from compliance.models.referral import Referral
from compliance.models.run import Run, RunRestriction
from compliance.models.table import TableEvent
from compliance.models.treat import TreatCheck
from compliance.models.verdict import OUTCOMES, PreparedDish, RestrictionTypeRow, ServedDish, Verdict

__all__ = [
    "OUTCOMES",
    "Announcement",
    "PreparedDish",
    "Referral",
    "RestrictionTypeRow",
    "Run",
    "RunRestriction",
    "ServedDish",
    "TableEvent",
    "TreatCheck",
    "Verdict",
]
