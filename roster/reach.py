"""Into which classrooms somebody's posts let them look, and on which days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db.models import Q, QuerySet

from roster.models import IN_ONE_CLASS, Classroom, Post
from roster.permits import SITE_WIDE


@dataclass(frozen=True, slots=True)
class Reach:
    """What follows from the posts that somebody holds today. Nothing here asks the database for them again."""

    held: Sequence[Post]

    @property
    def wide(self) -> list[Post]:
        """The posts that open every classroom of a site, or of all sites."""
        return [post for post in self.held if post.role in SITE_WIDE]

    @property
    def own(self) -> list[Post]:
        """The posts in one classroom."""
        return [post for post in self.held if post.role in IN_ONE_CLASS]

    @property
    def classrooms(self) -> QuerySet[Classroom]:
        """The classrooms that they may look into today: a teacher's own, or all of a site."""
        classrooms = Classroom.objects.select_related("site")
        if any(post.is_everywhere for post in self.wide):
            return classrooms
        own = {post.classroom_id for post in self.own if post.classroom_id}
        sites = {post.site_id for post in self.wide if post.site_id}
        return classrooms.filter(Q(pk__in=own) | Q(site__in=sites)) if sites else classrooms.filter(pk__in=own)

    def opens(self, classroom: Classroom, day: date | None = None) -> bool:
        """Tell whether they may look into the class today, and see it as it was or will be on that day.

        A post in one classroom opens the days for which it is held, so a substitute sees today's children and nobody
        who was there before; any other post opens the past and what is to come.
        """
        here = [post for post in self.own if post.classroom_id == classroom.pk]
        wide = any(post.is_at(classroom.site) for post in self.wide)
        return wide or any(day is None or post.is_held_on(day) for post in here)

    @property
    def began(self) -> list[tuple[int, datetime]]:
        """The classrooms that they see by a post there alone, each with the moment at which it began."""
        began: dict[int, list[datetime | None]] = defaultdict(list)
        for post in self.own:
            if post.classroom and not any(each.is_at(post.classroom.site) for each in self.wide):
                midnight = datetime.combine(post.starts_on, time.min, post.zone) if post.starts_on else None
                began[post.classroom.pk].append(midnight)
        return [(room, min(filter(None, since))) for room, since in began.items() if None not in since]
