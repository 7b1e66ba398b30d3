"""Staff, classrooms, children, enrolments, restrictions and allowances, as stored."""

from roster.models.action import Action, ChainEnd, Verb
from roster.models.allowance import Allowance
from roster.models.child import Child, Enrolment
from roster.models.classroom import Classroom
from roster.models.restriction import Basis, Restriction, State, Strictness
from roster.models.staff import Post, Role, User
from roster.models.statement import Credential, Program, Review, Statement

__all__ = [
    "Action",
    "Allowance",
    "Basis",
    "ChainEnd",
    "Child",
    "Classroom",
    "Credential",
    "Enrolment",
    "Post",
    "Program",
    "Restriction",
    "Review",
    "Role",
    "State",
    "Statement",
    "Strictness",
    "User",
    "Verb",
]
