"""The form for families on paper, in English or Spanish, with the part that a medical statement must hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils import translation
from django.utils.translation import gettext as _

from compliance.reports.typeset import paper_of, typeset
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.kinds.kind import restriction_kinds
from roster.kinds.signing import Signer, StatementPart, may_sign, statement_parts
from roster.kinds.spanish import name_in
from roster.models import Program

SIGNED = "signed"
"""The part of a statement that is the signature itself; the form has its own lines for it."""


@dataclass(frozen=True, slots=True)
class GuardianPaper:
    """A blank form. `site`: where it is handed in; None: left open. The day decides who may sign."""

    language: str  # "en" | "es"
    site: Site | None
    program: Program
    day: date
    foods: Sequence[str]
    ways: Sequence[str]
    grounds: Sequence[str]
    cautions: Sequence[str]

    @property
    def file_name(self) -> str:
        """A name for the file; it names no child."""
        return f"dietary-need-{self.language}.pdf"


def guardian_paper_pdf(form: GuardianPaper) -> bytes:
    """Return the form as a tagged PDF, in its language."""
    with translation.override(form.language):
        return typeset("guardianpaper.typ", _data(form))


def _data(form: GuardianPaper) -> dict[str, Any]:
    title = _("Food that a child must not have")
    site = form.site
    return {
        "title": title,
        "language": form.language,
        "paper": paper_of(site) if site else "us-letter",
        "site": str(site) if site else _("School or daycare:"),
        "open": site is None,
        "intro": _(
            "What you name here is kept away from the day on which you hand it in. It takes nothing off the record. "
            "Write foods only: the name of an illness is not needed."
        ),
        "return": [_("Hand it in at:"), site.forms_to if site else ""],
        "child": [_("Child's name"), _("Date of birth"), _("Class")],
        "contact": [_("Your name"), _("How to reach you about this")],
        "family": _family(form),
        "statement": _statement(form),
        "notice": site.nondiscrimination if site else "",
        "cautionname": _("Caution"),
        "cautions": [_(each) for each in form.cautions],
        "foot": f"{title}. {_translated(form)}".strip(),
        "page": _("Page"),
    }


def _family(form: GuardianPaper) -> dict[str, Any]:
    catalogue, kinds = Catalogue.load(), restriction_kinds()
    return {
        "heading": _("For the family"),
        "foods": [_("Foods to keep away"), *(_food(form, code, catalogue.get(code).name) for code in form.foods)],
        "others": _("Other foods, one a line"),
        "ways": [_("A way of eating"), *(name_in(form.language, "kind", code, kinds[code].name) for code in form.ways)],
        "grounds": [_("Why"), *(_(each) for each in form.grounds)],
        "reaches": [_("How far"), _("Traces too; I am not sure"), _("As an ingredient only")],
        "milk": _("If you ask for another drink in place of milk: why?"),
        "instead": _("What could be offered instead"),
        "sign": [_("Signature of parent or guardian"), _("Date")],
    }


def _food(form: GuardianPaper, code: str, english: str) -> str:
    return name_in(form.language, "substance", code, english)


def _statement(form: GuardianPaper) -> dict[str, Any]:
    """What the program must be told, and who may sign it on that day, by the tables of the rules."""
    return {
        "heading": _("Medical statement"),
        "intro": _(
            "Filled in and signed by one of those named here. A child is protected without it; the program may need it "
            "to claim the meal. The law of your State decides who may prescribe."
        ),
        "program": f"{_(form.program.label)}, {form.day.isoformat()}",
        "maysign": [_("Who may sign"), *(_signer(form, row) for row in may_sign(form.program, form.day))],
        "parts": [_part(form, part) for part in statement_parts() if part.part != SIGNED],
        "signed": _part(form, next(part for part in statement_parts() if part.part == SIGNED)),
        "lines": [_("Name"), _("Credential"), _("State of the licence"), _("Signature"), _("Date")],
        "renew": _("New statement wanted from (date)"),
    }


def _signer(form: GuardianPaper, row: Signer) -> str:
    return f"{name_in(form.language, 'signer', row.signer, row.who)} ({row.source})"


def _part(form: GuardianPaper, part: StatementPart) -> str:
    return name_in(form.language, "part", part.part, part.what)


def _translated(form: GuardianPaper) -> str:
    if form.language == "en":
        return ""
    return _("This translation waits for its review; where it and the English form differ, ask the school.")
