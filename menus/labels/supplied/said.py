"""What a supplier's rows say of each substance: the same evidence that the words on a package would be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from menus.labels.claims import Claim
from menus.labels.context import Context
from menus.labels.cutting import Passage
from menus.labels.evidence import ANY, Evidence, Kind, Part
from menus.labels.stretch import Stretch, read_stretch
from menus.labels.supplied.codes import NONE_DECLARED, AllergenCode, allergen_codes, likely_code
from menus.labels.supplied.conflicts import conflicts
from menus.labels.supplied.levels import Says, levels
from menus.labels.supplied.rows import Row, cut


def supplied_passages(context: Context, text: str) -> list[Passage]:
    """Read a supplier's data. No row for an allergen says nothing of it, and no row takes anything back."""
    rows, words = cut(text)
    told = [_stretch(context, rows)] if rows else []
    sentences = ((each.start, read_stretch(context, Part.SUPPLIED, each.text)) for each in words)
    return [(0, stretch) for stretch in told] + [(start, _apart(stretch)) for start, stretch in sentences]


def _stretch(context: Context, rows: Sequence[Row]) -> Stretch:
    denials = [claim for row in rows for claim in _denials(row)]
    claims = (*denials, *(claim for row in rows for claim in _none_declared(row, context)))
    evidence = [piece for row in rows for piece in _evidence(row)]
    evidence += conflicts(evidence, denials, context.catalogue)
    unread = {piece.span: None for piece in evidence if piece.kind is Kind.UNREAD_WORD and piece.span}
    kinds = frozenset((piece.substance, piece.kind) for piece in evidence)
    return Stretch(
        evidence=tuple(evidence),
        unread=tuple(unread),
        claims=claims,
        cut_off=None,
        kinds=kinds,
        accounts=frozenset(),  # no list of ingredients
        declared=frozenset(),  # and not bound to be whole, as a declaration on a package is
        is_weighed=bool(claims) or any(kind is Kind.DECLARED for _, kind in kinds),
        stands_alone=False,
        first_stop=0,
    )


def _apart(stretch: Stretch) -> Stretch:
    """The supplier's sentences are no part of the package: its list and its declaration are not held against them."""
    return replace(stretch, accounts=frozenset(), declared=frozenset())


def _evidence(row: Row) -> Iterator[Evidence]:
    code, level = allergen_codes().get(row.code), levels().get(row.level)
    if row.code in NONE_DECLARED or (level and level.says is Says.FREE):
        return  # a claim, or silence on what nobody can name
    if code is None or not code.concerns:
        yield Evidence(ANY, Kind.UNREAD_WORD, row.span, code.name if code else likely_code(row.code))
    elif level is None:
        yield from (_piece(substance, Kind.UNREAD_WORD, row, code) for substance in code.concerns)
    else:
        certain = Kind.DECLARED if level.says is Says.CONTAINS else Kind.MAY_CONTAIN
        uncertain = Kind.GROUP if level.says is Says.CONTAINS else Kind.MAY_CONTAIN
        yield from (_piece(substance, certain, row, code) for substance in code.stated)
        yield from (_piece(substance, uncertain, row, code) for substance in code.left_open)


def _denials(row: Row) -> Iterator[Claim]:
    """A claim of what the code names exactly: without barracuda is not without fish."""
    code, level = allergen_codes().get(row.code), levels().get(row.level)
    if code and code.substances and level and level.says is Says.FREE:
        yield Claim(row.span, code.substances, code.name, code.substances)


def _none_declared(row: Row, context: Context) -> Iterator[Claim]:
    """The claim that nothing is in it which the law makes a label declare. It may still contain traces."""
    if row.code in NONE_DECLARED and context.duty:
        groups = frozenset(code for code in context.forced if context.catalogue.descendants(code) & context.duty)
        denied = context.duty | groups
        named = (code for code in denied if not context.catalogue.ancestors(code) & denied)
        yield Claim(row.span, tuple(sorted(named)), allergen_codes()[row.code].name, tuple(sorted(denied)))


def _piece(substance: str, kind: Kind, row: Row, code: AllergenCode) -> Evidence:
    return Evidence(substance, kind, row.span, code.name, code.source, code.verified)
