"""HL7's published examples of AllergyIntolerance, the validators of R4B and R5, and what each example comes to here."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from fhir.resources.allergyintolerance import AllergyIntolerance as InR5
from fhir.resources.R4B.allergyintolerance import AllergyIntolerance as InR4B
from fhir.resources.R4B.bundle import Bundle
from pydantic import ValidationError

from roster.fhir.codes import SNOMED, codes
from roster.fhir.files import open_file
from roster.fhir.plan import plan_of
from roster.models import Basis, Child, Finding, HealthItem, HealthRecord, Restriction, Strictness
from tests.factories import ChildFactory
from tests.roster.fhir.entries import file_of, patient

DATA = Path(__file__).parent / "data" / "fhir"
EXAMPLES: dict[str, dict[str, Any]] = json.loads((DATA / "hl7_r4.json").read_text())

COMES_TO = {
    "allergyintolerance-example.json": (Finding.NEW, ("tree-nut.cashew",)),
    "allergyintolerance-fishallergy.json": (Finding.NEW, ("fish",)),
    "allergyintolerance-medication.json": (Finding.NOT_FOOD, ()),
    "allergyintolerance-nka.json": (Finding.NOTHING, ()),
    "allergyintolerance-nkda.json": (Finding.NOTHING, ()),
    "allergyintolerance-nkla.json": (Finding.NOTHING, ()),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_example_is_valid_r4(name: str) -> None:
    """By the validator of R4B, whose AllergyIntolerance has the elements of R4's."""
    InR4B.model_validate(EXAMPLES[name])


@pytest.mark.parametrize("name", EXAMPLES)
def test_r5_refuses_only_what_it_changed(name: str) -> None:
    """Recorder and asserter became participants, type a concept, a manifestation a concept or a reference (R5)."""
    try:
        InR5.model_validate(EXAMPLES[name])
    except ValidationError as error:
        wrong = {str(each["loc"][0]) for each in error.errors()}
        assert wrong <= {"recorder", "asserter", "type", "reaction"}
    else:
        assert not {"recorder", "asserter", "type", "reaction"} & EXAMPLES[name].keys()


@pytest.mark.django_db
@pytest.mark.parametrize("name", EXAMPLES)
def test_each_example_comes_to_what_it_says(name: str) -> None:
    """Two foods, a medicine, and three that say that nothing is known."""
    child = ChildFactory.create(source="SAMPLE", source_id="1")
    about = {**EXAMPLES[name], "patient": {"reference": "Patient/p1"}}
    (line,) = plan_of(file_of(patient(child), about), Child.objects.all(), {}).lines
    assert (line.finding, line.adds) == COMES_TO[name]


@pytest.mark.django_db
def test_a_mixed_bundle_by_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """S82 and the rest: peanut and milk as reported, egg too, refuted sesame to be looked at, nothing milder."""
    child = ChildFactory.create(source="SAMPLE", source_id="usr-1001", birth_date=date(2019, 4, 2))
    path = DATA / "mixed_bundle.json"
    Bundle.model_validate_json(path.read_bytes())
    call_command("import_fhir", str(path), "--dry-run")
    assert not Restriction.objects.exists() and "nothing was kept" in capsys.readouterr().out
    call_command("import_fhir", str(path))
    standing = Restriction.objects.known(timezone.now()).filter(child=child)
    assert {each.substance for each in standing} == {"peanut", "milk", "egg"}
    assert {(each.basis, each.strictness) for each in standing} == {(Basis.REPORTED, Strictness.TRACE)}
    assert [(item.finding, item.words) for item in HealthItem.objects.all()] == [(Finding.REVIEW, "Sesame")]
    said = capsys.readouterr().out
    assert child.family_name not in said and "Imre" not in said


def test_the_codes_of_the_examples_stand_in_the_table() -> None:
    """Those about food, and those that say that nothing is known."""
    for name, example in EXAMPLES.items():
        for coding in example["code"]["coding"]:
            if coding["system"] == SNOMED:
                assert codes()[SNOMED, coding["code"]].nothing_known == ("nk" in name)


def test_one_resource_a_line_is_read_as_the_bundle_is() -> None:
    """As bulk exports give them (newline-delimited JSON)."""
    lines = "\n".join(json.dumps(each) for each in EXAMPLES.values())
    assert len(open_file(lines.encode()).of("AllergyIntolerance")) == len(EXAMPLES)


@pytest.mark.django_db
def test_the_command_takes_a_persons_word_and_names_nobody(capsys: pytest.CaptureFixture[str]) -> None:
    """Where the number is not on the roster, the ids of those who may be meant are listed, and no name."""
    child = ChildFactory.create(given_name="Imre", family_name="Sandor", birth_date=date(2019, 4, 2))
    path = str(DATA / "mixed_bundle.json")
    call_command("import_fhir", path, "--dry-run")
    said = capsys.readouterr().out
    assert f"--child Patient/pt-1001={child.pk}" in said and "Sandor" not in said
    call_command("import_fhir", path, "--child", f"Patient/pt-1001={child.pk}")
    assert Restriction.objects.filter(child=child).count() == 3


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("more", "told"), [(["--child", "Patient/pt-1001=999"], "No child has the id"), (["--child", "x"], "PATIENT=ID")]
)
def test_the_command_refuses_what_it_cannot_do(more: list[str], told: str) -> None:
    """With nothing kept."""
    with pytest.raises(CommandError, match=told):
        call_command("import_fhir", str(DATA / "mixed_bundle.json"), *more)
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_fhir", "nowhere.json")
    with pytest.raises(CommandError, match="Nothing was kept"):
        call_command("import_fhir", str(DATA / "README.md"))
    assert not HealthRecord.objects.exists()
