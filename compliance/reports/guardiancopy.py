"""The guardian's copy of a child's record: in plain words, English or Spanish, with who has read it, by role."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files

from compliance.reports.childfile import ChildFile
from compliance.reports.childfood import approved, boxed, levels_set
from compliance.reports.childrecord_pdf import Document, Fact, Part, Section
from compliance.web.children_lines import Line
from roster.kinds.spanish import SPANISH, name_in
from roster.life.allowance import Standing
from roster.models import Action, Post, Role, TextureLevel

MOST_ACTIONS = 400
"""How many entries of the record of actions a copy lists."""

MOST_BOXES = 60
"""How many lunchboxes it lists."""


@dataclass(frozen=True, slots=True)
class Words:
    """The sentences of the copy in one language (data/guardian_copy.csv)."""

    language: str
    _by_key: Mapping[str, str]

    def __call__(self, key: str, **named: object) -> str:
        """Return a sentence with what it names put in. Raises KeyError for a sentence that the file does not have."""
        return self._by_key[key].format(**named)

    def or_other(self, begins: str, key: str) -> str:
        """Return the words for a code, or those for any other."""
        return self._by_key.get(f"{begins}{key}") or self._by_key[f"{begins}other"]


@cache
def words_in(language: str) -> Words:
    """Return the sentences in Spanish, or else in English. The Spanish waits for a native translator."""
    column = SPANISH if language == SPANISH else "en"
    with (files("compliance.reports") / "data" / "guardian_copy.csv").open(encoding="utf-8") as lines:
        return Words(column, {row["key"]: row[column] for row in csv.DictReader(lines)})


def guardian_document(file: ChildFile, language: str) -> Document:
    """Return the copy. Staff are named by their role at the time, and what they wrote for each other stays out."""
    say = words_in(language)
    name = file.child.given_name
    return Document(
        title=say("title"),
        heading=say("heading", name=name),
        lang=say.language,
        paper=file.paper,
        asof=say("asof", place=file.site or say("no-site"), now=file.now),
        intro=[
            say("intro", name=name),
            say("correct"),
            say("beside"),
            *([say("translated")] if _is_other(say) else []),
        ],
        sections=list(_sections(file, say)),
        caution=say("caution"),
        cautions=[say(f"c-{number}") for number in (1, 2, 3)],
        foot=say("foot", now=file.now),
        page=say("page"),
    )


def _is_other(say: Words) -> bool:
    return say.language == SPANISH


def _sections(file: ChildFile, say: Words) -> Iterator[Section]:
    standing = [line for line in file.lines if not line.has_ended]
    ended = [line for line in file.lines if line.has_ended]
    yield Section(say("child"), facts=list(_identity(file, say)))
    yield Section(
        say("avoid"),
        text=() if standing else (say("nothing"),),
        parts=[Part(_what(line, say), list(_said(line, file, say))) for line in standing],
    )
    if file.answers:
        rows = [(each.food, say(each.answer), str(each.answer_ends_on)) for each in file.answers]
        head = (say("food"), say("answer"), say("until"))
        yield Section(say("answers"), head=head, columns=(4, 2, 2), rows=rows)
    yield from _food(file, say)
    yield Section(say("pointer"), text=() if file.pointer else (say("no-pointer"),), facts=list(_pointed(file, say)))
    if ended:
        past = [(_what(line, say), str(line.version.ends_on), line.version.end_reason) for line in ended]
        yield Section(say("past"), head=(say("what"), say("last-day"), say("why")), columns=(2, 2, 4), rows=past)
    yield _readers(file, say)


def _food(file: ChildFile, say: Words) -> Iterator[Section]:
    """Levels of texture with those before, boxes, and what may come to the room."""
    if file.textures:
        newest, *before = file.textures
        parts = [_level(newest, "level-ended" if newest.ended else "level-set", file, say)]
        parts += [_level(each, "level-before", file, say) for each in before if not each.ended]
        yield Section(say("texture"), parts=parts)
    if file.boxes:
        text = [say("boxes-words")] + ([say("boxes-more", most=MOST_BOXES)] if len(file.boxes) > MOST_BOXES else [])
        rows = boxed(file.boxes[:MOST_BOXES], say.language)
        yield Section(say("boxes"), text=text, head=(say("day"), say("foods")), columns=(1, 4), rows=rows)
    if file.approvals:
        head = (say("product"), say("class"), say("until"))
        yield Section(
            say("approved"),
            text=(say("approved-words"),),
            head=head,
            columns=(4, 2, 2),
            rows=approved(file, say("every-room")),
        )


def _level(level: TextureLevel, state: str, file: ChildFile, say: Words) -> Part:
    said = [(say("state"), say(state)), (say("since"), f"{level.recorded_at.astimezone(file.zone):%Y-%m-%d}")]
    if level.ended:
        return Part(say("level-none"), [*said, (say("why"), level.end_reason)])
    signed = say("signed-by", day=level.signed_on, who=level.signatory, until=level.review_on)
    levels = "; ".join(say(f"level-{of}", level=words) for of, words in levels_set(level, say.language))
    return Part(levels, [*said, (say("statement"), signed)])


def _identity(file: ChildFile, say: Words) -> Iterator[Fact]:
    yield say("name"), str(file.child)
    yield say("born"), file.child.birth_date.isoformat() if file.child.birth_date else say("unborn")
    for stay in file.enrolments:
        key = "stay-to" if stay.ends_on else "stay"
        room = {"room": stay.classroom, "site": stay.classroom.site, "first": stay.starts_on, "last": stay.ends_on}
        yield say("class"), say(key, **room)


def _what(line: Line, say: Words) -> str:
    code = line.version.substance
    name = name_in(say.language, "substance", code, line.what) if code else line.what
    return f"{name[:1].upper()}{name[1:]}"


def _said(line: Line, file: ChildFile, say: Words) -> Iterator[Fact]:
    version = line.version
    yield say("state"), say(line.state.value)
    yield say("basis"), say(f"b-{version.basis}")
    yield say("far"), say(version.strictness if version.substance else "told")
    yield say("since"), f"{version.recorded_at.astimezone(file.zone):%Y-%m-%d}"
    if version.statement:
        signed = {"day": version.statement.signed_on, "who": version.statement.signatory}
        yield say("statement"), say("signed-by", until=version.review_on, **signed)
    for allowance in (signed.allowance for signed in line.allowances if signed.standing is Standing.APPLIES):
        about = f"{allowance.label.product}. " if allowance.label else ""
        until = say("allowance-until", day=allowance.ends_on, who=allowance.signature)
        yield say("allowance"), f"{about}{until}"


def _pointed(file: ChildFile, say: Words) -> Iterator[Fact]:
    if file.pointer is None:
        return
    yield say("plan"), say("plan-words", place=file.pointer.plan_place, day=file.pointer.dated)
    if file.pointer.medication_place:
        yield say("medication"), file.pointer.medication_place
    yield say("carried"), say("yes" if file.pointer.carried else "no")


def _readers(file: ChildFile, say: Words) -> Section:
    """Who did what with the record. Two queries, whatever the number of entries."""
    listed = file.actions[:MOST_ACTIONS]
    posts = _posts_of(listed)
    rows = [
        (
            f"{each.recorded_at.astimezone(file.zone):%Y-%m-%d %H:%M}",
            say.or_other("v-", each.verb),
            say.or_other("s-", each.subject.rpartition(" ")[0]),
            _roles(each, posts, say),
        )
        for each in listed
    ]
    text = [say("who-intro")] if rows else [say("nobody")]
    if len(file.actions) > MOST_ACTIONS:
        text.append(say("more", most=MOST_ACTIONS))
    head = (say("when"), say("did"), say("on"), say("role"))
    return Section(say("who"), text=text, head=head, columns=(3, 3, 4, 4), rows=rows)


def _posts_of(actions: Sequence[Action]) -> dict[int, list[Post]]:
    posts: dict[int, list[Post]] = {}
    found = Post.objects.filter(user__in={each.actor_id for each in actions if each.actor_id})
    for post in found.select_related("site", "classroom__site"):
        posts.setdefault(post.user_id, []).append(post)
    return posts


def _roles(action: Action, posts: Mapping[int, list[Post]], say: Words) -> str:
    """The roles that whoever acted held at that time."""
    if action.actor_id is None:
        return say("itself")
    held = [post for post in posts.get(action.actor_id, []) if _was_held(post, action.recorded_at)]
    roles = [role for role in Role if role in {post.role for post in held}]
    return ", ".join(say(f"r-{role.value}") for role in roles) or say("staff")


def _was_held(post: Post, moment: datetime) -> bool:
    return post.is_held_on(moment.astimezone(post.zone).date())
