"""Giving somebody a post, and ending one. The change itself goes on record by `roster.record.watch`."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from roster.accounts.reach import Reach, is_over
from roster.models import Classroom, Post, Role, User


def within(reach: Reach, post: Post) -> bool:
    """Tell whether the post, not yet saved perhaps, lies where the administrator may give one. At most two queries."""
    if post.child_id:
        return reach.children.filter(pk=post.child_id).exists()
    if post.place is None:
        return reach.everywhere and post.role not in (Role.GUARDIAN, Role.TEACHER, Role.SUBSTITUTE)
    return reach.everywhere or reach.sites.filter(pk=post.place.pk).exists()


@transaction.atomic
def give_post(*, by: User, user: User, role: Role, reads_medical: bool = False, **fields: Any) -> Post:
    """Give the person a post. `fields` are site, classroom, child, starts_on, ends_on.

    The medical text is granted with an administrator's post, by an administrator of all sites.

    Raises ValidationError for a post that is nobody's to give: to oneself, beyond one's reach, or against the rules.
    """
    if user == by:
        raise ValidationError("Nobody gives a post to themselves. Ask another administrator.", code="own")
    post = Post(user=user, role=role, reads_medical=reads_medical, **fields)
    post.full_clean()
    if post.starts_on and post.ends_on and post.ends_on < post.starts_on:
        raise ValidationError(
            {"ends_on": "The post would end before it begins. Give a last day that is not before its first."}
        )
    reach = Reach(by)
    if not within(reach, post) or (reads_medical and not reach.everywhere):
        raise ValidationError("That is beyond the sites that you administer.", code="reach")
    post.save()
    return post


def substitute_today(*, by: User, user: User, classroom: Classroom) -> Post:
    """Let the person stand in for one classroom until the end of the day there. Asked twice it is given once."""
    today = timezone.now().astimezone(classroom.site.zone).date()
    given = Post.objects.filter(user=user, role=Role.SUBSTITUTE, classroom=classroom, starts_on=today).first()
    return given or give_post(
        by=by, user=user, role=Role.SUBSTITUTE, classroom=classroom, starts_on=today, ends_on=today
    )


@transaction.atomic
def end_post(*, by: User, post: Post) -> None:
    """End a post at once. One that began today, and a substitute's, is taken away; the record of actions keeps it.

    Raises ValidationError for one's own post, one beyond one's reach, and one that is over.
    """
    if post.user == by:
        raise ValidationError("Nobody ends a post of their own. Ask another administrator.", code="own")
    if not Reach(by).posts.filter(pk=post.pk).exists():
        raise ValidationError("That is beyond the sites that you administer.", code="reach")
    if is_over(post):
        raise ValidationError("This post is over already.", code="over")
    today: date = timezone.now().astimezone(post.zone).date()
    if post.role == Role.SUBSTITUTE or (post.starts_on and post.starts_on >= today):
        post.delete()
    else:
        post.ends_on = today - timedelta(days=1)
        post.save(update_fields=["ends_on"])
