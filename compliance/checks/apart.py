"""Two foods kept apart within a meal: an allowance for the one beside another must not meet one for the other."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from compliance.checks.food import reading
from compliance.models import Referral
from compliance.rules.meeting import side_of
from menus.labels.evidence import Evidence, Kind
from menus.lexicon import lexicon_at
from menus.models import Label, Site
from menus.substances.combinations import Side, combinations
from roster.models import Allowance


def refuse_both(referral: Referral) -> None:
    """Raise ValidationError when allowing it would let both sides be served at one meal. Two queries."""
    combination = combinations().get(referral.substance)
    if referral.kind != Kind.SAME_MEAL or combination is None or referral.label is None:
        return
    chain = referral.chain
    signed = Allowance.objects.known(timezone.now()).filter(
        Q(restriction=chain) | Q(restriction__first=chain),
        kind=Kind.SAME_MEAL,
        ends_on__gte=timezone.now().astimezone(referral.site.zone).date(),
    )
    for allowance in signed.select_related("label__product"):
        for side, opposite in combination.sides:
            if _holds(referral.label, side, referral.site) and _holds(allowance.label, opposite, referral.site):
                raise ValidationError(
                    "%(product)s is allowed at such a meal already, and holds %(opposite)s. With this one allowed too, "
                    "both could be served at one meal. Withdraw that allowance first, or keep withholding this one.",
                    code="both-sides",
                    params={"product": allowance.label and allowance.label.product, "opposite": opposite.name},
                )


def side_words(referral: Referral) -> list[Evidence]:
    """Return what of the label the question rests on: its words for either side."""
    combination = combinations().get(referral.substance)
    if combination is None or referral.label is None:
        return []
    said = reading(referral.label, lexicon=lexicon_at(timezone.now()), site=referral.site).evidence
    asked = referral.words.split("; ")
    pieces = [piece for side, _ in combination.sides for piece in side_of(side, said)]
    return [piece for piece in pieces if piece.span and piece.span.words in asked]


def _holds(label: Label | None, side: Side, site: Site) -> bool:
    return label is not None and bool(
        side_of(side, reading(label, lexicon=lexicon_at(timezone.now()), site=site).evidence)
    )
