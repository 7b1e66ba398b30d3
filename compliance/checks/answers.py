"""What became of the questions that a treat check put to licensed staff: the asker is told where they asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from compliance.checks.questions import is_open, subject_of
from compliance.checks.reasons import stored_reasons
from compliance.checks.texturequestions import texture_subject
from compliance.models import Referral, TreatCheck
from roster.models import Child, Restriction


@dataclass(slots=True)
class Answers:
    """The questions of one check: those answered since it was made, and those that still wait."""

    answered: list[Referral] = field(default_factory=list)
    waiting: list[Referral] = field(default_factory=list)

    @property
    def children(self) -> list[tuple[Child, str]]:
        """Each child about whom something was answered, once, with what was: its gravest, or that it is open still."""
        open_ = {each.child_id for each in self.waiting}
        said: dict[Child, str] = {}
        for each in self.answered:
            kept = each.answer == Referral.Answer.KEEP or said.get(each.child) == "keep"
            said[each.child] = "keep" if kept else "open" if each.child_id in open_ else "allow"
        return list(said.items())


def answers_since(checks: Iterable[TreatCheck]) -> dict[int, Answers]:
    """Return by the id of each check what became of its questions. Two queries, whatever the number of checks.

    One more where a level of texture was asked about.
    """
    checks = list(checks)
    asked = {check.pk: _asked(check) for check in checks}
    versions = {pk for questions in asked.values() for pk, _ in questions}
    chains = {each.pk: each.chain for each in Restriction.objects.filter(pk__in=versions)}
    newest: dict[tuple[int, str], Referral] = {}
    for referral in Referral.objects.about(set(chains.values())).select_related("child") if chains else ():
        newest[referral.chain, referral.subject] = referral
    found = {check.pk: _answers(check, asked[check.pk], chains, newest) for check in checks}
    _add_textures(found, checks)
    return found


def _add_textures(found: dict[int, Answers], checks: Iterable[TreatCheck]) -> None:
    """Add the questions about texture; of one child's several about one food the newest counts. One query for any."""
    wanted = {check: texture_subject(check.food, check.label_id) for check in checks if check.result.get("texture")}
    asked = Referral.objects.standing().filter(texture__isnull=False, subject__in=set(wanted.values()))
    rows = asked.select_related("child").order_by("pk") if wanted else ()
    newest = {(each.child_id, each.subject): each for each in rows}
    for check, subject in wanted.items():
        for row in check.result["texture"]:
            _sort_in(found[check.pk], newest.get((row["child_id"], subject)), check)


def _answers(
    check: TreatCheck, asked: set[tuple[int, str]], chains: dict[int, int], newest: dict[tuple[int, str], Referral]
) -> Answers:
    found = Answers()
    for pk, subject in sorted(asked):
        _sort_in(found, newest.get((chains[pk], subject)), check)
    return found


def _sort_in(found: Answers, referral: Referral | None, check: TreatCheck) -> None:
    if referral is None:
        return
    if referral.answered_at is None:
        found.waiting.append(referral)
    elif referral.answered_at > datetime.fromisoformat(check.result["as_of"]):
        found.answered.append(referral)


def _asked(check: TreatCheck) -> set[tuple[int, str]]:
    """Return the restrictions, by version, and the subjects that the check asked about."""
    return {
        (row["restriction_id"], subject_of(reason, row["substance"], check.food))
        for row in check.result["refer"]
        for reason in stored_reasons(row["findings"])
        if is_open(reason)
    }
