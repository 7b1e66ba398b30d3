"""The rules in force, in order. The order decides nothing but how reasons of equal weight are listed."""

from __future__ import annotations

from collections.abc import Iterable

from compliance.rules import (
    airborne,
    carry_over,
    claim_contradicted,
    declared,
    disagreement,
    group,
    home_made,
    may_derive,
    near_miss,
    nearby,
    no_label,
    once_member,
    precautionary,
    present,
    refined_oil,
    same_meal,
    stale_label,
    together,
    unread_word,
    usual,
)
from compliance.rules.rule import Rule

RETIRED: dict[str, str] = {}
"""Ids that were in force once, with the reason they went. An id is never used again."""


class RuleClash(Exception):
    """Two rules claim the same id or the same kind of evidence."""


def registered(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """Return the rules as given, refusing clashes by naming both sides."""
    by_id: dict[str, Rule] = {}
    by_kind: dict[str, Rule] = {}
    for rule in rules:
        if rule.id in RETIRED:
            raise RuleClash(f"{rule.id} ({rule.title}) was retired: {RETIRED[rule.id]} Give the new rule a new id.")
        if rule.id in by_id:
            raise RuleClash(f"{rule.id} is claimed by “{by_id[rule.id].title}” and by “{rule.title}”.")
        by_id[rule.id] = rule
        for kind in rule.kinds:
            if kind in by_kind:
                raise RuleClash(f"{kind} evidence is judged by {by_kind[kind].id} and by {rule.id}.")
            by_kind[kind] = rule
    return tuple(by_id.values())


RULES = registered(
    module.RULE
    for module in (
        present,
        declared,
        precautionary,
        carry_over,
        group,
        may_derive,
        usual,
        refined_oil,
        near_miss,
        unread_word,
        no_label,
        stale_label,
        home_made,
        once_member,
        disagreement,
        claim_contradicted,
        airborne,
        nearby,
        together,
        same_meal,
    )
)
