"""Check one food against one class, now: the answer to a teacher with a tray in hand."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from compliance.checks.age import Births, food_notices
from compliance.checks.children import Period
from compliance.checks.classday import ClassDay, read_class
from compliance.checks.codec import finding_json
from compliance.checks.food import label_evidence, product_evidence
from compliance.checks.pageread import food_read, mark_of
from compliance.checks.reasons import reason_of
from compliance.checks.recorded import answered
from compliance.checks.referrals import Question, ask
from compliance.checks.table import from_the_table, table_events
from compliance.checks.texturequestions import Food as TexturedFood
from compliance.checks.texturequestions import allowed_as_it_comes, ask_about_texture
from compliance.models import TreatCheck
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType, Verdict
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, Evidence, Kind, Level, Step
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_at
from menus.models import Label, Product
from menus.substances.catalogue import Catalogue
from roster.access import reach
from roster.models import Classroom, TextureLevel, User, Verb
from roster.record.together import as_one

MAX_OFFERS = 6


def food_evidence(
    food: str, label: Label | None, *, home_made: bool, on: date, lexicon: Lexicon, classroom: Classroom
) -> Pieces:
    """Return the evidence of a food that came to a classroom; without a label nothing is known of it."""
    if label is not None:
        return label_evidence(label, on=on, lexicon=lexicon, home_made=home_made, site=classroom.site)
    step = Step("food", "", food)
    pieces = [Evidence(ANY, Kind.NO_LABEL, path=(step,))]
    if home_made:
        pieces.append(Evidence(ANY, Kind.HOME_MADE, path=(step,)))
    return tuple(pieces)


def check_treat(
    *,
    user: User,
    classroom: Classroom,
    served_at: datetime,
    source: TreatCheck.Source | str,
    food: str,
    label: Label | None = None,
    home_made: bool = False,
) -> TreatCheck:
    """Judge a food for every child of the class on the day it is handed out, record the answer and return it.

    Children whose outcome is `refer` are put on the list of licensed staff. The caller holds the transaction. Raises
    PermissionDenied when the user may not see the class, ValidationError when the food has no name.
    """
    if not reach(user).opens(classroom):
        raise PermissionDenied("This class is not yours to see.")
    if not food.strip():
        raise ValidationError(
            "Say what the food is, in a word or two, so that others can find this check.", code="food"
        )
    day = served_at.astimezone(classroom.site.zone).date()
    now = timezone.now()
    # Before the labels and words themselves: what is recorded in between may be in the answer, and the page says so.
    food_facts = food_read(label)
    lexicon, there = lexicon_at(now), read_class(classroom, day, now)
    carried = _from_the_table(classroom, served_at, day, lexicon)
    itself = food_evidence(food, label, home_made=home_made, on=day, lexicon=lexicon, classroom=classroom)
    own = {piece.substance for piece in itself if piece.level is Level.PRESENT}
    pieces = (*itself, *(piece for piece in carried if piece.substance not in own))
    class_periods, births = there.periods, there.births
    verdicts = _judge({period.type for period in class_periods}, pieces)
    result = _result(class_periods, verdicts, births, now)
    levels = {level.child_id: level for level in there.textures if level.asks}
    textured = TexturedFood(classroom.site, food.strip()[:160], day, served_at, label)
    allowed = allowed_as_it_comes(levels, textured)
    _add_textures(result, there, levels, allowed)
    result["read"] = mark_of([*there.read, *food_facts])
    result["offers"] = _offers(classroom, verdicts.keys(), births, day, lexicon, carried)
    result["by_age"] = [notice.json for notice in food_notices(food, label, births, day, classroom.site, lexicon)]
    check = TreatCheck(
        classroom=classroom,
        served_at=served_at,
        source=source,
        food=food.strip()[:160],
        home_made=home_made,
        label=label,
        checked_by=user,
        result=result,
    )
    check.full_clean(exclude={"classroom", "label", "checked_by"})  # these are at hand
    with as_one(Verb.CHECKED, "treat", site=classroom.site, by=user.pk) as entry:
        check.save()
        ask(_questions(check, class_periods, verdicts, day), asked_by=user)
        ask_about_texture([level for pk, level in levels.items() if pk not in allowed], textured, user)
        entry.subject = check
        entry.said |= {"classroom": classroom.pk, "label": label and label.pk, **answered(check)}
    return check


def _from_the_table(classroom: Classroom, at: datetime, day: date, lexicon: Lexicon) -> Pieces:
    """What earlier foods of the day left on the class table and on hands, and no washing took off."""
    events = table_events(classroom, day)
    earlier = {event.check_made.pk: event.check_made for event in events if event.check_made}
    if not earlier:
        return ()
    foods = {
        pk: food_evidence(
            check.food, check.label, home_made=check.home_made, on=day, lexicon=lexicon, classroom=classroom
        )
        for pk, check in earlier.items()
    }
    return from_the_table(classroom, at.astimezone(classroom.site.zone), foods, events)


def _judge(types: Iterable[RestrictionType], pieces: Pieces) -> dict[RestrictionType, Verdict]:
    return {kind: judge(kind, pieces) for kind in types}


def _result(
    found: list[Period], verdicts: dict[RestrictionType, Verdict], births: Births, at: datetime
) -> dict[str, Any]:
    rows: dict[str, list[dict[str, Any]]] = {"withhold": [], "refer": [], "notes": []}
    for period in sorted(found, key=lambda each: (str(each.restriction.child), each.restriction.pk)):
        verdict = verdicts[period.type]
        if verdict.outcome is not Outcome.NONE_FOUND:
            rows[verdict.outcome.code].append(_row(period, verdict))
        elif verdict.findings:
            rows["notes"].append(_row(period, verdict))
    stopped = {row["child_id"] for outcome in ("withhold", "refer") for row in rows[outcome]}
    return {
        "as_of": at.isoformat(),
        **rows,
        "children": len(births),
        "none_found": len(births) - len(stopped),
    }


def _add_textures(result: dict[str, Any], there: ClassDay, levels: dict[int, TextureLevel], allowed: set[int]) -> None:
    """Refer the children for whom a level of texture is set, but for those allowed it: of a treat nobody stated one."""
    children = {stay.child_id: stay.child for stay in there.stays}
    stopped = {row["child_id"] for outcome in ("withhold", "refer") for row in result[outcome]}
    result["texture"] = [
        {
            "child_id": pk,
            "child": str(children[pk]),
            "food_level": level.food_level,
            "drink_level": level.drink_level,
        }
        for pk, level in sorted(levels.items())
        if pk not in allowed
    ]
    result["texture_allowed"] = sorted(allowed)
    result["none_found"] -= len(levels.keys() - allowed - stopped)


def _row(period: Period, verdict: Verdict) -> dict[str, Any]:
    restriction = period.restriction
    return {
        "child_id": restriction.child_id,
        "child": str(restriction.child),
        "restriction_id": restriction.pk,
        "substance": restriction.substance,
        "substance_name": Catalogue.load().get(restriction.substance).name,
        "strictness": restriction.strictness,
        "outcome": verdict.outcome.code,
        "findings": [finding_json(finding) for finding in verdict.findings],
    }


def _offers(
    classroom: Classroom,
    types: Iterable[RestrictionType],
    births: Births,
    day: date,
    lexicon: Lexicon,
    carried: Pieces,
) -> list[dict[str, Any]]:
    """Return known products for which nothing is found for anybody in the class, nor anything said of their age."""
    known = Product.objects.ready_to_offer(classroom.site).with_label(timezone.now())
    offers: list[dict[str, Any]] = []
    for product in known:
        pieces = (*product_evidence(product, on=day, lexicon=lexicon, site=classroom.site), *carried)
        said = food_notices(product.name, product.current_labels[0], births, day, classroom.site, lexicon)
        if not said and all(not verdict.findings for verdict in _judge(types, pieces).values()):
            offers.append({"product_id": product.pk, "name": product.name})
        if len(offers) == MAX_OFFERS:
            break
    return offers


def _questions(
    check: TreatCheck, found: list[Period], verdicts: dict[RestrictionType, Verdict], day: date
) -> list[Question]:
    return [
        Question(period.restriction, check.classroom.site, reason, check.food, day, check.served_at)
        for period in found
        if verdicts[period.type].outcome is Outcome.REFER
        for reason in map(reason_of, verdicts[period.type].findings)
    ]
