"""What a lunchbox means for its child and its room: the same evidence and rules as a treat check, food by food."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from fractions import Fraction

from django.utils import timezone

from compliance.checks.age import AgeNotice, packed_notices
from compliance.checks.children import periods
from compliance.checks.lunchfood import DRINKS, age_foods, balance_food, evidence_of, household_of, label_of
from compliance.rules.judge import judge
from compliance.rules.values import Finding, Outcome, RestrictionType, Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Level
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_at
from menus.mealpattern.age import months_on
from menus.mealpattern.aminos import foods as protein_foods
from menus.mealpattern.aminos import reference_for
from menus.mealpattern.balance import Advice, balance
from menus.mealpattern.keeping import Keeping, keeping
from menus.mealpattern.protein import Score, part, score
from menus.mealpattern.spreads import spread_in
from menus.mealpattern.textures import DRINK, FOOD, ORDINARY, Fits, fits
from menus.models import Product, Site
from menus.substances.combinations import combinations
from roster.life.approval import approved_labels
from roster.life.lunchbox import Packed
from roster.life.texture import texture_of
from roster.models import Basis, Child, Classroom, Enrolment, Restriction, TextureLevel


class Because(StrEnum):
    """What a food meets."""

    CHILD = "child"  # a restriction of the child itself
    ROOM = "room"  # a rule of the room
    SPREAD = "spread"  # a spread that the site has not approved
    TEXTURE = "texture"


@dataclass(frozen=True, slots=True)
class Cause:
    """One reason. For a substance: how far it is known to be in the food, and the words that say so."""

    because: Because
    outcome: Outcome
    substance: str = ""
    level: Level = Level.UNREAD
    words: str = ""
    fits: str = ""  # of texture: "unknown" | "other" | "above"


@dataclass(frozen=True, slots=True)
class JudgedFood:
    """One food of the box with all that was found, the gravest first."""

    packed: Packed
    outcome: Outcome
    causes: tuple[Cause, ...]
    notices: tuple[AgeNotice, ...]


@dataclass(frozen=True, slots=True)
class Protein:
    """The protein of the foods whose composition is known, eaten together; and the names of those not counted."""

    score: Score
    grams: Fraction
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BoxAnswer:
    """What is said of a whole box."""

    as_of: datetime
    foods: tuple[JudgedFood, ...]
    together: tuple[Cause, ...]  # what the foods of one box mean beside each other
    room: Classroom | None
    rules: tuple[str, ...]  # substances that the room keeps out
    see_to: tuple[str, ...]  # what no check looks for
    texture: TextureLevel | None
    balance: tuple[Advice, ...]
    protein: Protein | None
    keeping: Keeping

    @property
    def outcome(self) -> Outcome:
        """The gravest of all; an empty box has nothing found."""
        return max(
            (*(food.outcome for food in self.foods), *(each.outcome for each in self.together)), default=Outcome(0)
        )


def judge_box(
    child: Child,
    site: Site,
    day: date,
    packed: Sequence[Packed],
    *,
    packed_at: time | None = None,
    eaten_at: time | None = None,
    at_temperature: bool = False,
) -> BoxAnswer:
    """Judge the foods for the child on that day, as known now. The number of queries does not grow with the box."""
    now = timezone.now()
    lexicon, room = lexicon_at(now), _room(child, site, day)
    types = [period.type for period in periods(Child.objects.filter(pk=child.pk), day, day, now)]
    rules = _rules(child, room, day, now)
    approved = approved_labels(room, day) if room else set()
    texture = texture_of(child, now)
    texture = None if texture and texture.ended else texture
    with_labels = _with_labels(packed, now)
    pieces = [evidence_of(each, on=day, lexicon=lexicon, site=site) for each in with_labels]
    foods = tuple(
        _judged(each, found, types, rules, approved, texture, child, day, site, lexicon)
        for each, found in zip(with_labels, pieces, strict=True)
    )
    return BoxAnswer(
        as_of=now,
        foods=foods,
        together=_together(types, pieces, foods),
        room=room,
        rules=tuple(sorted({rule.substance for rule in rules})),
        see_to=_see_to(child, day, now),
        texture=texture,
        balance=tuple(balance([balance_food(each) for each in with_labels])) if with_labels else (),
        protein=_protein(with_labels, months_on(child.birth_date, day)),
        keeping=keeping([each.keeps for each in with_labels], packed_at, eaten_at, at_temperature=at_temperature),
    )


def _judged(
    packed: Packed,
    pieces: Pieces,
    types: Iterable[RestrictionType],
    rules: Iterable[RestrictionType],
    approved: set[int],
    texture: TextureLevel | None,
    child: Child,
    day: date,
    site: Site,
    lexicon: Lexicon,
) -> JudgedFood:
    causes = [
        *(cause for kind in types for cause in _met(kind, pieces, Because.CHILD)),
        *(cause for kind in rules for cause in _met(kind, pieces, Because.ROOM)),
        *_spread(packed, approved),
        *_textured(packed, texture),
    ]
    causes = sorted(dict.fromkeys(causes), key=lambda each: -each.outcome)
    return JudgedFood(
        packed=packed,
        outcome=max((each.outcome for each in causes), default=Outcome.NONE_FOUND),
        causes=tuple(causes),
        notices=tuple(packed_notices(age_foods(packed), label_of(packed, day), child.birth_date, day, site, lexicon)),
    )


def _met(kind: RestrictionType, pieces: Pieces, because: Because) -> list[Cause]:
    verdict = judge(kind, pieces)
    return [_cause(kind, finding, because) for finding in verdict.findings if not finding.allowed]


def _cause(kind: RestrictionType, finding: Finding, because: Because) -> Cause:
    span = finding.evidence.span
    return Cause(because, finding.outcome, kind.substance, finding.evidence.level, span.words if span else "")


def _together(
    types: Iterable[RestrictionType], pieces: Sequence[Pieces], foods: Sequence[JudgedFood]
) -> tuple[Cause, ...]:
    """What a child who keeps two foods apart within a meal meets only when the box is eaten as one."""
    apart = [kind for kind in types if kind.substance in combinations()]
    alone = {cause for food in foods for cause in food.causes}
    every = tuple(dict.fromkeys(piece for found in pieces for piece in found))
    causes = (cause for kind in apart for cause in _met(kind, every, Because.CHILD))
    return tuple(dict.fromkeys(cause for cause in causes if cause not in alone))


def _spread(packed: Packed, approved: set[int]) -> list[Cause]:
    """A spread in place of peanut butter waits for the site, until this label of it is approved for the room."""
    if not spread_in(packed.name) and not (packed.product and spread_in(packed.product.name)):
        return []
    labels = packed.product.current_labels if packed.product else []
    if labels and labels[0].pk in approved:
        return []
    return [Cause(Because.SPREAD, Outcome.REFER)]


def _textured(packed: Packed, texture: TextureLevel | None) -> list[Cause]:
    if texture is None:
        return []
    set_levels = [
        (of, level)
        for of, level, ordinary in ((FOOD, texture.food_level, ORDINARY), (DRINK, texture.drink_level, 0))
        if level is not None and level != ordinary and of in _may_be(packed)
    ]
    found = {fits(packed.texture, level, of) for of, level in set_levels}
    if not found or Fits.AS_SET in found:
        return []
    worst = Fits.UNKNOWN if Fits.UNKNOWN in found else Fits.OTHER if Fits.OTHER in found else Fits.ABOVE
    outcome = Outcome.WITHHOLD if worst is Fits.ABOVE else Outcome.REFER
    return [Cause(Because.TEXTURE, outcome, fits=worst.value)]


def _may_be(packed: Packed) -> tuple[str, ...]:
    if packed.household:
        return (DRINK,) if packed.household in DRINKS else (FOOD,)
    return (FOOD, DRINK)


def _room(child: Child, site: Site, day: date) -> Classroom | None:
    """Where the child is on that day, or else where it is now."""
    stays = Enrolment.objects.on(day).filter(child=child, classroom__site=site).select_related("classroom")
    stay = stays.order_by("-starts_on").first() or child.stay
    return stay.classroom if stay else None


def _rules(child: Child, room: Classroom | None, day: date, at: datetime) -> list[RestrictionType]:
    """What the site's policy keeps out of the room. Whose restriction it stands on is nobody's to read here."""
    if room is None:
        return []
    there = Enrolment.objects.on(day).filter(classroom=room).order_by().values("child")
    standing = Restriction.objects.in_force(day, day, at).filter(child__in=there, basis=Basis.POLICY)
    kinds = {
        RestrictionType(each.substance, Strictness(each.strictness))
        for each in standing.exclude(child=child)
        if each.holds_on(day)
    }
    return sorted(kinds, key=lambda kind: (kind.substance, kind.strictness))


def _see_to(child: Child, day: date, at: datetime) -> tuple[str, ...]:
    standing = Restriction.objects.standing(day, day, at).filter(child=child, substance="").order_by("pk")
    return tuple(each.told for each in standing if each.holds_on(day))


def _with_labels(packed: Sequence[Packed], at: datetime) -> list[Packed]:
    """The same foods, their products with the label that stands now. Two queries, none without products."""
    wanted = {each.product.pk for each in packed if each.product}
    products = {each.pk: each for each in Product.objects.filter(pk__in=wanted).with_label(at)} if wanted else {}
    return [_replaced(each, products[each.product.pk]) if each.product else each for each in packed]


def _replaced(packed: Packed, product: Product) -> Packed:
    fields = {name: getattr(packed, name) for name in Packed.__dataclass_fields__}
    return Packed(**{**fields, "product": product})


def _protein(packed: Sequence[Packed], months: int | None) -> Protein | None:
    reference = reference_for(months)
    known = [food for each in packed if (food := household_of(each)) and food.protein]
    if reference is None or not known:
        return None
    parts = [part(protein_foods()[food.protein], food.grams) for food in known]
    left_out = tuple(each.name for each in packed if not ((food := household_of(each)) and food.protein))
    return Protein(score(parts, reference), sum((each.protein_g for each in parts), Fraction(0)), left_out)
