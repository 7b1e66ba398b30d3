"""All that is on record of a child at one moment, for the papers about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.conf import settings

from compliance.models import Referral
from compliance.reports.typeset import paper_of
from compliance.web.children_lines import Line
from menus.models import Site
from roster.models import Action, Child, EmergencyPlan, Enrolment, LunchBox, RoomApproval, Statement, TextureLevel


@dataclass(frozen=True, slots=True)
class ChildFile:
    """All that is on record of a child at one moment."""

    child: Child
    site: Site | None
    as_of: datetime
    enrolments: Sequence[Enrolment]
    lines: Sequence[Line]
    statements: Sequence[Statement]
    answers: Sequence[Referral]
    pointer: EmergencyPlan | None
    textures: Sequence[TextureLevel]  # every version, the newest first
    boxes: Sequence[LunchBox]  # the newest version of each that was not taken back, the last day first
    approvals: Sequence[RoomApproval]  # for the room that the child is in today
    actions: Sequence[Action]

    @property
    def zone(self) -> ZoneInfo:
        """The clock by which its times are given."""
        return self.site.zone if self.site else ZoneInfo(settings.TIME_ZONE)

    @property
    def today(self) -> date:
        """The day that it speaks of, on that clock."""
        return self.as_of.astimezone(self.zone).date()

    @property
    def now(self) -> str:
        """The moment that it speaks of, on that clock."""
        here = self.as_of.astimezone(self.zone)
        return f"{here:%Y-%m-%d %H:%M} {here.tzname()}"

    @property
    def paper(self) -> str:
        """The paper in use there."""
        return paper_of(self.site) if self.site else "us-letter"

    def file_name(self, what: str) -> str:
        """A name for a file about it, which names no child."""
        return f"{what}-{self.site.code if self.site else 'child'}-{self.as_of.astimezone(self.zone):%Y-%m-%d}"
