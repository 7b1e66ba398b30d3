"""Runs, verdicts, referrals and treat checks, as stored."""

from compliance.models.announcement import Announcement
from compliance.models.checkedday import CheckedDay
from compliance.models.escalation import Escalation, Step
from compliance.models.foodread import FoodRead
from compliance.models.incident import Incident, IncidentNote
from compliance.models.mail import OutgoingMail
from compliance.models.mealjob import MealJob
from compliance.models.mealplan import MealPlan
from compliance.models.night import DeadLetter, Night, NightSlice
from compliance.models.referral import Referral
from compliance.models.run import Run, RunRestriction
from compliance.models.table import TableEvent
from compliance.models.treat import TreatCheck
from compliance.models.unreadchange import UnreadChange
from compliance.models.verdict import OUTCOMES, DishVerdicts, Panel, PreparedDish, RestrictionTypeRow, ServedDish

__all__ = [
    "OUTCOMES",
    "Announcement",
    "CheckedDay",
    "DeadLetter",
    "DishVerdicts",
    "Escalation",
    "FoodRead",
    "Incident",
    "IncidentNote",
    "MealJob",
    "MealPlan",
    "Night",
    "NightSlice",
    "OutgoingMail",
    "Panel",
    "PreparedDish",
    "Referral",
    "RestrictionTypeRow",
    "Run",
    "RunRestriction",
    "ServedDish",
    "Step",
    "TableEvent",
    "TreatCheck",
    "UnreadChange",
]
