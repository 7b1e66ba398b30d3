"""Which edition of the rules judged: another edition's verdicts are never taken for this one's."""

from __future__ import annotations

from functools import cache

from compliance.checks.codec import fingerprint
from compliance.rules.register import RULES
from menus.labels.evidence import LEVEL_OF_KIND, STANDING
from menus.substances.catalogue import Catalogue
from menus.substances.combinations import combinations

JUDGING = 1
"""To be raised when judging itself changes: what follows from the same rules and the same substances."""


@cache
def edition() -> str:
    """Return the fingerprint of all that a verdict follows from, beside the dish and the restriction type."""
    return fingerprint(
        {
            "judging": JUDGING,
            "rules": [[rule.id, sorted(rule.kinds), rule.trace, rule.ingredient] for rule in RULES],
            "kinds": {kind: [level, kind in STANDING] for kind, level in LEVEL_OF_KIND.items()},
            "substances": {
                code: [each.kind, each.member_of, each.may_carry, each.once_member_of]
                for code, each in Catalogue.load().substances.items()
            },
            "combinations": {
                code: [side.substances for side in (each.one, each.other)] for code, each in combinations().items()
            },
        }
    )
