"""One verdict as one number of 32 bits, so that the gravest of several is their maximum.

From the left: outcome that counts (2 bits) · counts, not allowed (1) · outcome before allowances (2) · rule, the first
id the highest (7) · number of what said so (20). Zero: nothing to say.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from compliance.rules.register import RULES
from compliance.rules.values import Finding, Outcome, Verdict

Codes = npt.NDArray[np.uint32]

ATOM_BITS, RULE_BITS = 20, 7
MOST_ATOMS = 1 << ATOM_BITS
_RULE_AT, _OWN_AT, _COUNTS_AT, _OUTCOME_AT = ATOM_BITS, 27, 29, 30
_LAST = (1 << RULE_BITS) - 1
_IDS = sorted(rule.id for rule in RULES)
_RANK = {rule: _LAST - place for place, rule in enumerate(_IDS)}
"""The order in which judge lists findings of one outcome."""


def code_of(verdict: Verdict, atom: int = 0) -> int:
    """Return a verdict as a number; of its findings the first, which is the gravest that counts."""
    return _code(verdict.findings[0], atom) if verdict.findings else 0


def _code(finding: Finding, atom: int) -> int:
    counted = Outcome.NONE_FOUND if finding.allowed else finding.outcome
    return (
        counted << _OUTCOME_AT
        | (not finding.allowed) << _COUNTS_AT
        | finding.outcome << _OWN_AT
        | _RANK[finding.rule] << _RULE_AT
        | atom
    )


def outcomes(codes: Codes) -> npt.NDArray[np.uint32]:
    """Return the outcomes of these verdicts, as the values of Outcome."""
    return codes >> np.uint32(_OUTCOME_AT)


def atoms(codes: Codes) -> npt.NDArray[np.uint32]:
    """Return the numbers of what said so."""
    return codes & np.uint32(MOST_ATOMS - 1)


def rule_of(code: Any) -> str:
    """Return the id of the rule that the verdict rests on, or nothing where there is nothing to say."""
    return _IDS[_LAST - (int(code) >> _RULE_AT & _LAST)] if code else ""
