"""Staff, classrooms, children, enrolments, restrictions and allowances, as stored."""

from roster.models.action import Action, ChainEnd, Verb
from roster.models.allowance import Allowance, AllowanceWithdrawal
from roster.models.approval import RoomApproval, RoomApprovalEnd
from roster.models.child import Child, Enrolment
from roster.models.classroom import Classroom
from roster.models.guardian import GROUNDS, Asks, GuardianAnswer, GuardianEntry
from roster.models.health import Finding, HealthItem, HealthItemSeen, HealthMatch, HealthRecord
from roster.models.lunchbox import LunchBox, LunchBoxItem
from roster.models.plan import EmergencyPlan
from roster.models.restriction import Basis, Restriction, State, Strictness
from roster.models.signin import SignIn, Way
from roster.models.source_row import SourceRow
from roster.models.staff import IN_ONE_CLASS, Post, Role, User
from roster.models.statement import Credential, Program, Review, Statement
from roster.models.texture import TextureLevel

__all__ = [
    "GROUNDS",
    "IN_ONE_CLASS",
    "Action",
    "Allowance",
    "AllowanceWithdrawal",
    "Asks",
    "Basis",
    "ChainEnd",
    "Child",
    "Classroom",
    "Credential",
    "EmergencyPlan",
    "Enrolment",
    "Finding",
    "GuardianAnswer",
    "GuardianEntry",
    "HealthItem",
    "HealthItemSeen",
    "HealthMatch",
    "HealthRecord",
    "LunchBox",
    "LunchBoxItem",
    "Post",
    "Program",
    "Restriction",
    "Review",
    "Role",
    "RoomApproval",
    "RoomApprovalEnd",
    "SignIn",
    "SourceRow",
    "State",
    "Statement",
    "Strictness",
    "TextureLevel",
    "User",
    "Verb",
    "Way",
]
