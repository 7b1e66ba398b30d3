"""What stands on record, in the words in which a family reads it."""

from __future__ import annotations

import re

from django.utils.translation import get_language, gettext

from menus.substances.catalogue import Catalogue
from roster.kinds.kind import restriction_kinds
from roster.kinds.spanish import name_in
from roster.life.guardian import TOLD_UNKNOWN
from roster.models import GuardianEntry, Restriction

UNKNOWN = re.compile(re.escape(TOLD_UNKNOWN).replace(re.escape("{words}"), "(.*)"), re.DOTALL)


def language_now() -> str:
    """The two letters of the language that the page is in."""
    return (get_language() or "en")[:2]


def for_family(version: Restriction) -> str:
    """The substance by name in the language of the page, the family's own words, or what people are told."""
    if version.substance:
        return _food(version.substance)
    own = UNKNOWN.fullmatch(version.told)
    return f"“{own[1]}”" if own else gettext(version.told)


def named_in(entry: GuardianEntry) -> list[str]:
    """What a form keeps away: foods ticked, the family's own words, ways of eating."""
    language, kinds = language_now(), restriction_kinds()
    ways = [name_in(language, "kind", code, kinds[code].name) for code in entry.kinds]
    own = [f"“{' '.join(line.split())}”" for line in entry.words.splitlines() if line.strip()]
    return [*(_food(code) for code in entry.substances), *own, *ways]


def _food(code: str) -> str:
    return name_in(language_now(), "substance", code, Catalogue.load().get(code).name)
