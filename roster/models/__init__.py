"""Staff, classrooms, children, enrolments, restrictions and allowances, as stored."""

from roster.models.allowance import Allowance
from roster.models.child import Child, Enrolment
from roster.models.classroom import Classroom
from roster.models.restriction import Basis, Restriction, Strictness
from roster.models.staff import Post, Role, User

__all__ = [
    "Allowance",
    "Basis",
    "Child",
    "Classroom",
    "Enrolment",
    "Post",
    "Restriction",
    "Role",
    "Strictness",
    "User",
]
