"""Every rule by its own two examples, and the register."""

from __future__ import annotations

import pkgutil
from dataclasses import replace

import pytest

import compliance.rules
from compliance.rules.register import RULES, RuleClash, registered
from compliance.rules.rule import Rule
from compliance.rules.values import Outcome
from menus.labels.evidence import LEVEL_OF_KIND, Kind, Level

ENGINE = {"judge", "meeting", "register", "rule", "values"}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_rule_fires_on_its_case(rule: Rule) -> None:
    """The example that must fire does, with the outcome that the rule states."""
    finding = rule.finding(rule.fires.evidence, rule.fires.strictness)
    assert finding is not None
    assert finding.outcome is rule.trace
    assert finding.reason.endswith(".")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_rule_is_quiet_on_its_other_case(rule: Rule) -> None:
    """The example that must not fire does not."""
    assert rule.finding(rule.quiet.evidence, rule.quiet.strictness) is None


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_rule_states_its_grounds(rule: Rule) -> None:
    """A rule without a source says that it is common practice."""
    assert rule.source
    assert rule.why.endswith(".")
    assert rule.verified in ("read", "memory", "design")
    assert (rule.verified == "memory") == ("no source" in rule.source)


def test_every_kind_of_evidence_has_one_rule() -> None:
    """Evidence that no rule judges would vanish without a word."""
    judged = [kind for rule in RULES for kind in rule.kinds]
    assert sorted(judged) == sorted(Kind)


def test_every_rule_file_is_registered() -> None:
    """A forgotten file is a rule that nobody applies."""
    modules = {module.name for module in pkgutil.iter_modules(compliance.rules.__path__)} - ENGINE
    assert len(modules) == len(RULES)


def test_outcome_table_of_the_design() -> None:
    """present → withhold; possible → at least refer for traces; unread → refer. Traces are never judged more mildly."""
    for rule in RULES:
        for level in {LEVEL_OF_KIND[kind] for kind in rule.kinds}:
            if level is Level.PRESENT:
                assert rule.trace is rule.ingredient is Outcome.WITHHOLD
            elif level is Level.UNREAD:
                assert rule.trace is rule.ingredient is Outcome.REFER
            else:
                assert rule.trace is not Outcome.NONE_FOUND
        assert rule.ingredient <= rule.trace


def test_clash_of_ids_names_both() -> None:
    """Two rules cannot share an id."""
    one, other = RULES[0], replace(RULES[1], id=RULES[0].id)
    with pytest.raises(RuleClash, match=f"{one.title}.*{other.title}"):
        registered([one, other])


def test_clash_of_kinds_names_both() -> None:
    """Two rules cannot judge the same kind of evidence."""
    with pytest.raises(RuleClash, match=r"R01.*R99"):
        registered([RULES[0], replace(RULES[0], id="R99")])
