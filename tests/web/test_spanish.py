"""The Spanish of the pages for guardians: whole, in step with the English, and promising nothing."""

from __future__ import annotations

import ast
import gettext
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.utils.translation.template import templatize

from compliance.rules.values import Outcome
from compliance.web.guardian_form import WAYS
from compliance.web.language import SAID_ELSEWHERE
from menus.models import Meal
from roster.kinds.kind import restriction_kinds
from roster.life import scan
from roster.life.guardian import TOLD_MILK
from roster.models import Program

ROOT = Path(settings.BASE_DIR) / "compliance"
FOLDER = ROOT / "locale" / "es" / "LC_MESSAGES"
CALLS = {"gettext", "gettext_lazy", "gettext_noop", "_"}
PROMISES = re.compile(
    r"\b(segur[oa]s?|inocu[oa]s?|apt[oa]s?|sin alérgenos|garantiza\w*|autorizad[oa]s?)\b", re.IGNORECASE
)


def written() -> dict[str, str]:
    """The catalogue as people edit it: sentence and translation, one a line."""
    source = (FOLDER / "django.po").read_text(encoding="utf-8")
    pairs = re.findall(r'^msgid (".*")\nmsgstr (".*")$', source, re.MULTILINE)
    return {ast.literal_eval(english): ast.literal_eval(spanish) for english, spanish in pairs if english != '""'}


def compiled() -> dict[str, str]:
    """The catalogue as the service reads it."""
    with (FOLDER / "django.mo").open("rb") as file:
        held = gettext.GNUTranslations(file)
    return {english: held.gettext(english) for english in held._catalog if english}


def marked() -> Iterator[str]:
    """Every sentence that our code and templates mark as one to translate."""
    for path in [*ROOT.rglob("*.py"), *(ROOT / "web" / "templates").rglob("*.html")]:
        source = path.read_text(encoding="utf-8")
        python = templatize(source, origin=str(path)) if path.suffix == ".html" else source
        if path.suffix == ".py":
            yield from _called(ast.parse(python), CALLS)
        else:
            for found in re.findall(r"""gettext\(u?('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")\)""", python):
                yield ast.literal_eval(found)


def _called(tree: ast.Module, names: set[str]) -> Iterator[str]:
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name), args=[ast.Constant(value=str(sentence)), *_]) if name in names:
                yield sentence


def test_every_sentence_has_its_spanish() -> None:
    """A sentence without one would stand in English in the middle of the page."""
    assert len(written()) > 100
    assert sorted({each for each in marked() if not written().get(each)}) == []


def test_no_translation_is_left_over() -> None:
    """A sentence that was changed leaves its old translation behind."""
    assert sorted(written().keys() - set(marked())) == []


def test_what_the_service_reads_is_what_people_wrote() -> None:
    """After an edit: `msgfmt -o django.mo django.po` in the folder of the catalogue."""
    assert compiled() == written()


@pytest.mark.parametrize("english", sorted(written()))
def test_a_translation_holds_the_same_names_and_promises_nothing(english: str) -> None:
    """A name left out would hide a date; a name too many would break the page."""
    spanish = written()[english]
    assert sorted(re.findall(r"%\(\w+\)s", english)) == sorted(re.findall(r"%\(\w+\)s", spanish))
    assert not PROMISES.search(spanish) and spanish != ""


def test_sentences_of_other_modules_are_marked_as_they_stand_there() -> None:
    """They know no translation, so that only this keeps the two in step."""
    said = {outcome.words for outcome in (Outcome.WITHHOLD, Outcome.REFER)}
    said |= {str(each) for each in (*Meal.labels, *Program.labels)}
    source = Path(scan.__file__).read_text(encoding="utf-8")
    said |= set(_called(ast.parse(source), {"ValidationError"}))
    said |= {TOLD_MILK, *(told for code in WAYS if (told := restriction_kinds()[code].told))}
    assert len(said) > 12 and said <= set(SAID_ELSEWHERE)
