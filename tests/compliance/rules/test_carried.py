"""What becomes of evidence that the kitchen carries over, once it is judged."""

from __future__ import annotations

import pytest

from compliance.rules.judge import judge
from compliance.rules.values import RestrictionType, Strictness
from menus.kitchen.events import How
from menus.kitchen.things import arrived
from menus.labels.evidence import ANY, Evidence, Kind, Part, Span, Step

ON_THE_BOARD = (Step("at", "09:00", "09:00"), Step("surface", "1", "Board 1"))
SAUCE = (Step("recipe", "1", "Sauce"), Step("label", "7", "Paste"))


@pytest.mark.parametrize("strictness", list(Strictness))
@pytest.mark.parametrize("how", list(How))
@pytest.mark.parametrize("kind", sorted(set(Kind) - {Kind.SAME_MEAL}))  # which comes in after the kitchen's work
def test_a_trace_is_never_judged_more_gravely_than_its_source(kind: Kind, how: How, strictness: Strictness) -> None:
    """A doubt that is referred in the dish that holds it is not withheld in the next one."""
    source = Evidence("milk", kind, path=SAUCE)
    of_milk = RestrictionType("milk", strictness)
    assert judge(of_milk, [arrived(source, how, ON_THE_BOARD)]).outcome <= judge(of_milk, [source]).outcome


@pytest.mark.parametrize(
    ("piece", "sentence"),
    [
        (
            Evidence("milk", Kind.NAMED, path=SAUCE),
            "“Sauce” left it on Board 1 at 09:00, and no cleaning that removes it comes between.",
        ),
        (
            Evidence(ANY, Kind.UNREAD_WORD, Span(Part.INGREDIENTS, 0, 4, "xqzw"), path=SAUCE),
            "“xqzw” on the label of Paste was not understood. It was carried over on Board 1 at 09:00.",
        ),
    ],
)
def test_the_reason_tells_the_way(piece: Evidence, sentence: str) -> None:
    """Where it was left and when; a doubt is still told of the label that it stands on."""
    verdict = judge(RestrictionType("milk", Strictness.TRACE), [arrived(piece, How.TOUCH, ON_THE_BOARD)])
    assert [finding.reason for finding in verdict.findings] == [sentence]
