"""Teachers of a class list: the post of a teacher begins and ends with the enrolment, and is never a wider one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from django.db.models.functions import Lower

from menus.imports.draft import Action, Draft
from roster.imports.places import Adjustment, Period, adjust
from roster.imports.snapshot import Snapshot, Teaching
from roster.models import Classroom, Post, Role, User

FILE = "enrollments.csv"
Key = tuple[str, str]
"""The teacher's address in small letters, and the room's id in the source."""


def draft_posts(
    draft: Draft,
    snapshot: Snapshot,
    source: str,
    *,
    titles: Mapping[str, str],
    today: date,
    end_absent: bool,
    only: Collection[str] | None = None,
) -> None:
    """Draft which posts of teachers begin, change and end: those that this source gave, and no other. Two queries.

    Nobody gets an account here: a teacher who has none, by the e-mail address, is named in a note. With `only`, the
    posts of other addresses stay as they are.
    """
    accounts = _accounts(snapshot.teaching)
    listed: dict[Key, list[Period]] = defaultdict(list)
    for each in snapshot.teaching:
        if each.email in accounts:
            period = Period(each.room, each.starts_on, each.ends_on, row=each.row, is_listed=True)
            listed[each.email, each.room].append(period)
        else:
            _note_unknown(draft, each, titles)
    recorded = _recorded(source)
    for key in {**listed, **recorded}:
        if only is not None and key[0] not in only:
            continue
        wanted = _joined(listed.get(key, []))
        adjustments = adjust(recorded.get(key, []), wanted, today=today, end_absent=end_absent)
        for change in adjustments:
            _draft_change(draft, source, key, change, titles)
        draft.keep("teacher's post", len(wanted) - sum(1 for each in adjustments if each.new and each.new.is_listed))


def _accounts(teaching: Collection[Teaching]) -> set[str]:
    """The addresses that exactly one active account has: where two share one, nobody can tell whose post it is."""
    wanted = {each.email for each in teaching if each.email}
    users = User.objects.filter(is_active=True).annotate(address=Lower("email")).filter(address__in=wanted)
    addresses = list(users.values_list("address", flat=True))
    return {address for address in addresses if addresses.count(address) == 1}


def _recorded(source: str) -> dict[Key, list[Period]]:
    rows: dict[Key, list[Period]] = defaultdict(list)
    posts = Post.objects.filter(source=source, role=Role.TEACHER, classroom__source=source)
    for post in posts.select_related("user", "classroom"):
        assert post.classroom is not None  # a teacher's post names one
        key = (post.user.email.casefold(), post.classroom.source_id)
        rows[key].append(Period(key[1], post.starts_on or date.min, post.ends_on, post.pk))
    return rows


def _joined(periods: list[Period]) -> list[Period]:
    """One teacher may stand twice in a class on the same days; that is one post."""
    kept: list[Period] = []
    for period in sorted(periods, key=lambda each: each.starts_on):
        if kept and period.overlaps(kept[-1]):
            last = kept[-1]
            until = max(last.ends_on or date.max, period.ends_on or date.max)
            kept[-1] = replace(last, ends_on=None if until == date.max else until)
        else:
            kept.append(period)
    return kept


def _note_unknown(draft: Draft, teaching: Teaching, titles: Mapping[str, str]) -> None:
    room = titles.get(teaching.room, teaching.room)
    draft.note(
        teaching.row,
        "userSourcedId",
        f"{teaching.name} teaches {room} and has no account of their own here with the e-mail address of the file.",
        "Invite them; the next import gives them the class.",
        file=FILE,
    )


def _draft_change(draft: Draft, source: str, key: Key, change: Adjustment, titles: Mapping[str, str]) -> None:
    old, new = change.old, change.new
    room = titles.get(key[1], key[1])
    if old is None and new is not None:
        draft.step(Action.CREATE, "teacher's post", key[0], _words(room, new), partial(_give, source, key, new))
        draft.tell("Teaches", f"{key[0]}: {_words(room, new)}")
    elif old is not None:
        said = _words(room, new) if new else f"{room}, did not begin"
        action = Action.CHANGE if new and new.is_listed else Action.END
        draft.step(action, "teacher's post", key[0], said, partial(_change, old.id, new))
        draft.tell("Teaches", f"{key[0]}: {said}")


def _words(room: str, period: Period) -> str:
    return f"{room} from {period.starts_on} to {period.ends_on or 'no set end'}"


def _give(source: str, key: Key, period: Period, user: Any) -> None:
    post = Post(
        user=User.objects.get(email__iexact=key[0], is_active=True),
        role=Role.TEACHER,
        classroom=Classroom.objects.get(source=source, source_id=key[1]),
        starts_on=period.starts_on,
        ends_on=period.ends_on,
        source=source,
    )
    post.full_clean()
    post.save()


def _change(pk: int, period: Period | None, user: Any) -> None:
    post = Post.objects.get(pk=pk)
    if period is None:
        post.delete()
    else:
        post.starts_on, post.ends_on = period.starts_on, period.ends_on
        post.full_clean()
        post.save()
