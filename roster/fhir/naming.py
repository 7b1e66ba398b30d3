"""What a code or a word of a health record means among our substances: in doubt more, and never nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass

from menus.labels.evidence import ANY, Kind
from menus.labels.label import LONGEST_LABEL, LabelText
from menus.labels.lexicon import Lexicon
from menus.labels.reader import read
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance
from roster.fhir.codes import OURS, TOLD, codes
from roster.fhir.noted import Coding, Concept
from roster.life.spoken import heard

SURE = {Kind.NAMED, Kind.DERIVED, Kind.DECLARED, Kind.GROUP}
_JOINTS = re.compile(r"[,;/&+|\n]|\.\s|\band\b|\bor\b", re.IGNORECASE)
_CLINICAL = re.compile(
    r"\b(allerg(y|ies|ic|en|ens)|intoleran(t|ce)|hypersensitiv(e|ity)|sensitiv(e|ity)|propensity|adverse|reactions?"
    r"|anaphyla(xis|ctic)|ige[ -]?mediated|severe|moderate|mild|known|suspected|history|disorder|finding|substance"
    r"|situation|edible|dietary|products?|foods?|to|of|the|all|any)\b",
    re.IGNORECASE,
)
_NOTHING = re.compile(r"\A\s*(nka|nkda|nkfa|none|no(ne)?\s+known\b.*allerg\w*)[\s.]*\Z", re.IGNORECASE | re.DOTALL)
_EDGES = re.compile(r"\A[\s\-–:()\[\]“”\"']+|[\s\-–:()\[\]“”\"']+\Z")


@dataclass(frozen=True, slots=True)
class Meant:
    """What was understood. `unknown` are words that no list holds; with them go `suggested`, for a person to pick."""

    substances: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    suggested: tuple[str, ...] = ()
    to_confirm: bool = False  # a group, or words beside the name: a person is to read it
    nothing_known: bool = False  # it says that no allergy is known, and takes nothing away
    told: str = ""  # a restriction without a substance, as this service wrote it


def meant(concept: Concept, lexicon: Lexicon | None = None) -> Meant:
    """Return what the concept means. Codes and words are joined: each may name what the other leaves out.

    Words are split where several foods are named, so that one that is known never hides one that is not.
    """
    if any((coding.system, coding.code) == (OURS, TOLD) for coding in concept.codings):
        return Meant(told=concept.words)
    by_code = [_of_code(coding) for coding in concept.codings]
    shown = [_of_display(coding, lexicon) for coding in concept.codings]
    by_text = _of_text(concept.text, lexicon)
    parts = [*by_code, *shown, by_text]
    understood = any(part.substances for part in parts)
    # The codes of one concept say the same in other systems: one that is known speaks for those that are not.
    strange = [display for display in shown if display.substances or not understood]
    return _joined(parts, [by_text] if concept.text else strange, concept)


def _joined(parts: list[Meant], worded: list[Meant], concept: Concept) -> Meant:
    """`worded` are the parts whose unknown words count: the text, or the displays of codes that nobody knows."""
    substances = tuple(dict.fromkeys(code for part in parts for code in part.substances))
    unknown = tuple(dict.fromkeys(word for part in worded for word in part.unknown))
    says_none = any(part.nothing_known for part in parts)
    if not substances and not unknown:
        if says_none:
            return Meant(nothing_known=True)
        unknown = (concept.words or "a food that it does not name",)
    return Meant(
        substances=substances,
        unknown=unknown,
        suggested=tuple(dict.fromkeys(code for part in parts for code in part.suggested if code not in substances)),
        to_confirm=says_none or any(part.to_confirm for part in parts) or _differ(parts),
    )


def _differ(parts: list[Meant]) -> bool:
    """Whether a code and the words beside it do not name the same."""
    return len({frozenset(part.substances) for part in parts if part.substances}) > 1


def _of_display(coding: Coding, lexicon: Lexicon | None) -> Meant:
    row = codes().get((coding.system, coding.code))
    if row and row.display.casefold() == coding.display.casefold():
        return Meant()
    return _of_text(coding.display, lexicon)


def _of_code(coding: Coding) -> Meant:
    if coding.system == OURS and coding.code in Catalogue.load():
        return Meant(substances=(coding.code,))
    row = codes().get((coding.system, coding.code))
    if row is None:
        return Meant()
    return Meant(substances=row.substances, to_confirm=row.to_confirm, nothing_known=row.nothing_known)


def _of_text(text: str, lexicon: Lexicon | None) -> Meant:
    if not text.strip():
        return Meant()
    if _NOTHING.match(text):
        return Meant(nothing_known=True)
    if whole := _named(text, lexicon):
        return whole
    pieces = [_of_piece(piece, lexicon) for piece in _JOINTS.split(text[:LONGEST_LABEL])]
    return Meant(
        substances=tuple(code for piece in pieces for code in piece.substances),
        unknown=tuple(word for piece in pieces for word in piece.unknown),
        suggested=tuple(code for piece in pieces for code in piece.suggested),
        to_confirm=any(piece.to_confirm for piece in pieces),
    )


def _of_piece(piece: str, lexicon: Lexicon | None) -> Meant:
    said = _EDGES.sub("", piece)
    bare = _EDGES.sub("", " ".join(_CLINICAL.sub(" ", said).split()))
    if not bare:
        return Meant()
    for words in (said, bare):
        if found := _named(words, lexicon):
            return found
    kinds = read(LabelText(ingredients="", contains=bare), lexicon)
    told = [piece for piece in kinds.evidence if piece.kind is not Kind.NO_LABEL]
    sure = tuple(dict.fromkeys(each.substance for each in told if each.kind in SURE))
    maybe = tuple(dict.fromkeys(each.substance for each in told if each.kind not in SURE and each.substance != ANY))
    if sure:
        groups = any(each.kind is Kind.GROUP for each in told)
        return Meant(substances=sure, suggested=maybe, to_confirm=groups or bool(kinds.unread))
    return Meant(unknown=(said,), suggested=maybe or _nearest(bare))


def _named(text: str, lexicon: Lexicon | None) -> Meant | None:
    """What is a name of the catalogue as it stands, with the groups that people may mean by it besides."""
    try:
        code = Catalogue.load().resolve(text).code
    except UnknownSubstance:
        return _spoken(text)
    told = read(LabelText(ingredients="", contains=text), lexicon).evidence
    within = {code, *Catalogue.load().descendants(code)}
    wider = [each.substance for each in told if each.kind is Kind.GROUP and each.substance not in within]
    return Meant(substances=(code, *dict.fromkeys(wider)), to_confirm=bool(wider))


def _spoken(text: str) -> Meant | None:
    """What families call it, in English or Spanish."""
    known = heard(text)
    if not known or not all(each.is_sure for each in known):
        return None
    return Meant(substances=tuple(dict.fromkeys(code for each in known for code in each.codes)))


def _nearest(text: str) -> tuple[str, ...]:
    try:
        return (Catalogue.load().resolve(text).code,)
    except UnknownSubstance as error:
        return error.nearest
