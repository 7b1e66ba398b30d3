"""A child's record as one document, for the licensed staff of the place that the child goes to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from zoneinfo import ZoneInfo

from compliance.reports.childfile import ChildFile
from compliance.reports.childfood import approved, boxed, levels_set
from compliance.reports.childrecord_pdf import Document, Fact, Part, Section
from compliance.web.cautions import CAUTIONS
from compliance.web.children_lines import Line
from menus.substances.catalogue import Catalogue
from roster.life.allowance import Signed
from roster.models import EmergencyPlan, State, Statement, TextureLevel

TITLE = "A child's record"
CARRIED = ("decides", "handed-on", "expired", "reported", "reaction")
"""The cautions that it carries (compliance/web/cautions.py)."""

TO_DO = (
    "Keep away from the child what stands under “What this child may not have”, from the first meal on.",
    "Prepare food and drink to the level of texture below, where one is set, from the first meal on.",
    "Ask the family for a new signed statement for your own program: this paper is none, and no scan goes with it.",
    "Ask the family for the child's emergency plan and for what belongs to it. What stands below is the old place.",
    "Have licensed staff look at every restriction, and sign allowances anew. None of the allowances holds elsewhere: "
    "each was for one label, or for one decision, here.",
    "Check every food again with your own labels and your own kitchen.",
)


def transfer_document(file: ChildFile) -> Document:
    """Return the record for whoever takes the child in."""
    place = str(file.site) if file.site else "no site"
    return Document(
        title=TITLE,
        heading=str(file.child),
        lang="en",
        paper=file.paper,
        asof=f"From the records of {place}. As of {file.now}.",
        intro=("For licensed staff of the receiving school or daycare. Keep it as you keep health records.",),
        sections=list(_sections(file)),
        caution="Caution",
        cautions=[CAUTIONS[name] for name in CARRIED],
        foot=f"Child's record, {place}. As of {file.now}. An information aid: it decides nothing.",
        page="Page",
    )


def _sections(file: ChildFile) -> Iterator[Section]:
    standing = [line for line in file.lines if not line.has_ended]
    ended = [line for line in file.lines if line.has_ended]
    yield Section("The child", facts=list(_identity(file)))
    yield Section("What to do on receiving this", text=[f"{number}. {each}" for number, each in enumerate(TO_DO, 1)])
    nothing = "Nothing is on record. That is no promise: a child may react with nothing on record."
    yield Section(
        "What this child may not have",
        text=() if standing else (nothing,),
        parts=[Part(_heading(line), list(_said(line, file.zone))) for line in standing],
    )
    yield Section(
        "Signed statements", text=_none(file.statements), parts=[_statement(each) for each in file.statements]
    )
    yield Section(
        "Answers of licensed staff",
        text=_none(file.answers),
        head=("Food", "Answer", "Until", "Signed"),
        columns=(3, 2, 1, 2),
        rows=[
            (each.food, each.get_answer_display(), _day(each.answer_ends_on), each.signature) for each in file.answers
        ],
    )
    yield from _food(file)
    yield Section("Emergency plan: where it was kept here", text=_none(file.pointer), facts=list(pointed(file.pointer)))
    if ended:
        rows = [
            (_heading(line), _day(line.version.ends_on), line.version.end_reason, line.version.signature)
            for line in ended
        ]
        yield Section("Ended", head=("What", "Last day", "Why", "Signed"), columns=(2, 1, 3, 2), rows=rows)


def _food(file: ChildFile) -> Iterator[Section]:
    """What is prepared or packed for the child, and what holds of it elsewhere."""
    newest = next(iter(file.textures), None)
    yield Section(
        "Level of texture", text=() if newest else ("None is on record.",), facts=list(_texture(newest, file.zone))
    )
    coming = [box for box in reversed(file.boxes) if box.day >= file.today]
    if coming:
        text = ("Put together for the room that the child is in here. Its family and your own room decide anew.",)
        yield Section("Lunchboxes to come", text=text, head=("Day", "Foods"), columns=(1, 4), rows=boxed(coming, "en"))
    if file.approvals:
        yield Section(
            "Products approved for its room here",
            text=("They hold for no room elsewhere: whoever answers for yours looks at the label and approves anew.",),
            head=("Product", "Room", "Until"),
            columns=(4, 2, 1),
            rows=approved(file, "Every room"),
        )


def _texture(newest: TextureLevel | None, zone: ZoneInfo) -> Iterator[Fact]:
    if newest is None:
        return
    for of, words in levels_set(newest, "en"):
        yield of.capitalize(), f"Level {words}"
    if newest.ended:
        yield "Ended", f"{newest.recorded_at.astimezone(zone):%Y-%m-%d}: {newest.end_reason}"
    else:
        yield "Statement", f"Signed {_day(newest.signed_on)} by {newest.signatory}"
        yield "To be renewed by", f"{_day(newest.review_on)}; the level holds past that day too"
    yield "Signed here", newest.signature


def _identity(file: ChildFile) -> Iterator[Fact]:
    child = file.child
    yield "Name", str(child)
    yield "Born", _day(child.birth_date) or "Not on record: the strictest age rules apply"
    if child.source_id:
        yield "Number", f"{child.source_id} ({child.source})"
    for stay in file.enrolments:
        until = f"to {stay.ends_on}" if stay.ends_on else "with no set end"
        yield "Enrolled", f"{stay.classroom}, {stay.classroom.site}, from {stay.starts_on} {until}"


def _heading(line: Line) -> str:
    return f"{line.what[:1].upper()}{line.what[1:]}"


def _said(line: Line, zone: ZoneInfo) -> Iterator[Fact]:
    version = line.version
    yield "State", state_words(line)
    yield "How far", version.get_strictness_display() if version.substance else "As told; no check looks for it"
    yield "On whose word", version.get_basis_display()
    if line.kind:
        yield "Kind", line.kind.name
    if version.note:
        yield "As reported", f"“{version.note}”"
    recorded = version.recorded_at.astimezone(zone)
    who = version.recorded_by or "an import or a command"
    yield "Version", f"{version.number}, recorded {recorded:%Y-%m-%d %H:%M} by {who}"
    if version.statement:
        yield "Statement", _signed(version.statement)
    if version.review:
        wanting = f"; a better statement was asked for: {version.review.wanting}" if version.review.wanting else ""
        yield "Reviewed", f"{version.review.recorded_at:%Y-%m-%d}, signed {version.review.signature}{wanting}"
    for allowance in line.allowances:
        yield "Allowance here", _allowed(allowance)


def state_words(line: Line) -> str:
    """Where it stands, and that it protects all the same."""
    if line.state is State.EXPIRED:
        return f"{line.state.label} on {line.version.review_on}; it protects all the same"
    due = f"; runs out {line.version.review_on}" if line.version.review_on else ""
    return f"{line.state.label}{due}"


def _allowed(signed: Signed) -> str:
    allowance = signed.allowance
    about = f", {Catalogue.load().get(allowance.about).name}" if allowance.about else ""
    term = f", “{allowance.term}”" if allowance.term else ""
    label = f", {allowance.label.product}, label {allowance.label.number}" if allowance.label else ""
    kind = allowance.get_kind_display()
    span = f"{allowance.starts_on} to {allowance.ends_on}"
    return f"{signed.standing.label}: {kind}{term}{about}{label}; {span}. Signed {allowance.signature}"


def _statement(statement: Statement) -> Part:
    said = (
        ("Signed by", f"{statement.signatory}{_credential(statement)}; licence of {statement.licence_state}"),
        ("Runs out", f"{statement.review_on}; the protection stays"),
        ("Program", statement.get_program_display()),
        ("How it restricts the diet", statement.impairment),
        ("What must be done", statement.accommodate),
        ("What to leave out", statement.omit),
        ("What to give instead", statement.instead),
        ("Scan", "Kept here; not part of this paper" if statement.scan else "None kept"),
    )
    return Part(f"Signed {statement.signed_on}", [(name, words) for name, words in said if words])


def _signed(statement: Statement) -> str:
    return f"Signed {statement.signed_on} by {statement.signatory}{_credential(statement)}"


def _credential(statement: Statement) -> str:
    return f", {statement.credential_words or statement.get_credential_display().lower()}"


def pointed(pointer: EmergencyPlan | None) -> Iterator[Fact]:
    """Where the plan and what belongs to it lie: no drug, no dose."""
    if pointer is None:
        return
    yield (
        "Plan",
        f"{pointer.plan_place}; dated {_day(pointer.dated)}, a newer one asked for by {_day(pointer.review_on)}",
    )
    yield "Medication", pointer.medication_place or "Nothing on record of any"
    yield "Carried by the child", "Yes" if pointer.carried else "No"
    if pointer.call:
        yield "Who is called", pointer.call


def _none(found: object) -> tuple[str, ...]:
    return () if found else ("None is on record.",)


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""
