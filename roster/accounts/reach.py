"""How far an administrator reaches: whom they may see among the people, which posts and accounts they may touch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django.db.models import Q, QuerySet
from django.utils import timezone

from menus.models import Site
from roster.access import children_with, posts, visible_sites
from roster.models import Child, Classroom, Post, User
from roster.permits import Act, Permit, Thing

STAFF = Permit(Thing.STAFF, Act.CHANGE)


@dataclass(frozen=True)
class Reach:
    """What one administrator may touch: their own sites, or everything with a post for all sites.

    Nobody reaches their own account here: what is wider than one has is given by somebody else. Superusers, who repair,
    are out of everybody's reach.
    """

    user: User

    @cached_property
    def everywhere(self) -> bool:
        """Whether a post for all sites makes them an administrator of every site. One query."""
        return any(post.is_everywhere for post in posts(self.user, STAFF))

    @cached_property
    def sites(self) -> QuerySet[Site]:
        """The sites that they administer."""
        return visible_sites(self.user, STAFF)

    @property
    def classrooms(self) -> QuerySet[Classroom]:
        """The classrooms there."""
        return Classroom.objects.filter(site__in=self.sites).select_related("site").order_by("site__name", "name")

    @property
    def children(self) -> QuerySet[Child]:
        """The children enrolled there, today or later."""
        return children_with(self.user, *STAFF)

    @property
    def people(self) -> QuerySet[User]:
        """The people who hold, held or will hold a post there; with a post for all sites, everybody."""
        people = User.objects.filter(is_superuser=False)
        if self.everywhere:
            return people
        return people.filter(pk__in=self.posts.values("user"))

    @property
    def posts(self) -> QuerySet[Post]:
        """The posts there, past and to come. A post for all sites is out of reach of whoever has one site."""
        every = Post.objects.select_related("site", "classroom__site", "child", "user")
        if self.everywhere:
            return every
        here = Q(site__in=self.sites) | Q(classroom__site__in=self.sites) | Q(child__in=self.children)
        return every.filter(here)

    def may_touch(self, person: User) -> bool:
        """Tell whether they may touch the account itself: close it, make a link, take the second factor away.

        Only when every post of the person that is not over lies within reach: else an administrator of one site could
        take over the account of somebody who sees more. At most four queries.
        """
        if person == self.user or person.is_superuser:
            return False
        if self.everywhere:
            return True
        theirs = list(Post.objects.filter(user=person).select_related("site", "classroom__site"))
        open_posts = {post.pk for post in theirs if not is_over(post)}
        return bool(theirs) and open_posts <= set(self.posts.filter(pk__in=open_posts).values_list("pk", flat=True))


def is_over(post: Post) -> bool:
    """Tell whether the post has ended, on the clock of its site."""
    return post.ends_on is not None and post.ends_on < timezone.now().astimezone(post.zone).date()
