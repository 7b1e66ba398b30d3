"""A finding read back from what is stored says what it said when it was found."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from compliance.checks.codec import finding_json
from compliance.checks.reasons import reason_of, stored_reasons
from compliance.rules.register import RULES
from compliance.rules.rule import Rule
from menus.labels.evidence import Part, Span, Step

WORDS = Span(Part.INGREDIENTS, 3, 7, "whey")
WAY = (Step("recipe", "4", "Macaroni"), Step("product", "9", "Sauce"), Step("label", "12", "Sauce, label 2"))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
@pytest.mark.parametrize("is_allowed", [False, True])
@pytest.mark.parametrize("span", [None, WORDS])
def test_as_stored_and_as_found(rule: Rule, span: Span | None, *, is_allowed: bool) -> None:
    piece = replace(rule.fires.evidence, span=span, path=WAY)
    found = rule.finding(piece, rule.fires.strictness)
    assert found is not None
    finding = replace(found, allowed=is_allowed)
    stored = json.loads(json.dumps([finding_json(finding)]))
    assert stored_reasons(stored) == [reason_of(finding)]
    assert reason_of(finding).ref_of("label") == "12"
    assert reason_of(finding).words == ("whey" if span else "")
